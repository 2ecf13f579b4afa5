package exact

// A simplex solves linear programs of one kind on a dense tableau, which it keeps for the next. It
// serves one goroutine.
type simplex struct {
	tableau []float64
	basis   []int
	x       []float64
}

// most returns the x that has the largest sum of gain[k] x[k] with
//
//	sum over k of column(k, r) x[k] <= 1 for each row r,   x[k] >= 0
//
// where no column entry is below 0. Where it is cut short, or a step is lost in rounding, x still keeps the
// rows up to rounding. x is good until the next call.
// Source: Dantzig's rule.
func (s *simplex) most(gain []float64, rows int, column func(k, r int) float64) (x []float64) {
	cols := len(gain)
	width := cols + rows + 1 // the columns, the slack of each row, the right side
	if need := (rows + 1) * width; cap(s.tableau) < need {
		s.tableau = make([]float64, need)
	}
	tab := s.tableau[:(rows+1)*width]
	clear(tab)
	for r := range rows {
		row := tab[r*width:][:width]
		for c := range cols {
			row[c] = column(c, r)
		}
		row[cols+r], row[width-1] = 1, 1
	}
	price := tab[rows*width:][:width]
	copy(price, gain)
	s.basis = s.basis[:0]
	for r := range rows {
		s.basis = append(s.basis, cols+r)
	}
	for range 3 * rows {
		enter, most := -1, 1e-9
		for c, v := range price[:width-1] {
			if v > most {
				enter, most = c, v
			}
		}
		if enter < 0 {
			break
		}
		leave := s.leaving(tab, width, enter)
		if leave < 0 {
			break
		}
		pivot(tab, width, leave, enter)
		s.basis[leave] = enter
	}
	s.x = append(s.x[:0], make([]float64, cols)...)
	for r, c := range s.basis {
		if v := tab[r*width+width-1]; c < cols && v > 0 {
			s.x[c] = v
		}
	}
	return s.x
}

// leaving returns the row that binds first as a column enters, -1 for none.
func (s *simplex) leaving(tab []float64, width, enter int) int {
	leave, lowest := -1, 0.0
	for r := range s.basis {
		if v := tab[r*width+enter]; v > 1e-9 {
			if q := tab[r*width+width-1] / v; leave < 0 || q < lowest {
				leave, lowest = r, q
			}
		}
	}
	return leave
}

// pivot makes a column the unit vector of a row.
func pivot(tab []float64, width, leave, enter int) {
	row := tab[leave*width:][:width]
	over := 1 / row[enter]
	for c := range row {
		row[c] *= over
	}
	for r := range len(tab) / width {
		x := tab[r*width+enter]
		if r == leave || x == 0 {
			continue
		}
		other := tab[r*width:][:width]
		for c, y := range row {
			other[c] -= float64(x * y)
		}
	}
}
