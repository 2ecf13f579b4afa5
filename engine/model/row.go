package model

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"pitwise/engine/document"
)

// tolerance is how far a row may be from a sum of 1, and a ratio of cumulative sums
// from the rule.
const tolerance = 1e-9

// rows reads healthy and given, and reports rows that are not of the right length,
// do not add up or break the ratio rule.
func (l *loader) rows(t *Test, v document.Value) {
	n := len(t.Outcomes)
	if v.Get("outcomes").Kind() != document.List {
		n = -1
	}
	healthy, ok := l.row(v.Get("healthy"), n)
	t.Healthy = healthy
	for name, each := range v.Get("given").Members() {
		given, whole := l.row(each, n)
		if whole && ok {
			if !follows(healthy, given) {
				l.report.Add(each, "%s", broken(healthy, given))
			}
		}
		if !isModeID(name) {
			continue
		}
		if mode := l.find("mode", name, each); mode >= 0 {
			t.Given = append(t.Given, Row{Mode: mode, P: given})
		}
	}
	slices.SortFunc(t.Given, func(a, b Row) int { return cmp.Compare(a.Mode, b.Mode) })
}

// row reads one row of probabilities for n outcomes, of any number if n is below 0;
// ok is false if anything is wrong with it.
func (l *loader) row(v document.Value, n int) (p []float64, ok bool) {
	if v.Kind() != document.List {
		return nil, false
	}
	ok = true
	sum, numbers := 0.0, true
	for _, each := range v.Items() {
		x, finite := each.Float()
		numbers = numbers && finite
		ok = ok && finite && x > 0
		p = append(p, x)
		sum += x
	}
	if n >= 0 && len(p) != n {
		l.report.Add(v, "row has %d entries, want %d, one for each outcome", len(p), n)
		ok = false
	}
	if numbers && len(p) > 0 && !sumsToOne(sum) {
		l.report.Add(v, "row sums to %s, want 1", document.Number64(sum))
		ok = false
	}
	return p, ok && numbers && len(p) > 0
}

// sumsToOne allows for the rounding of the decimals themselves: 0.999999999 passes.
func sumsToOne(sum float64) bool { return math.Abs(sum-1) <= tolerance+1e-15 }

// ratios returns Q_f(k)/Q_h(k) of all outcomes but the last, whose ratio is 1
// because both rows sum to 1.
func ratios(healthy, given []float64) []float64 {
	all := make([]float64, len(healthy)-1)
	qh, qf := 0.0, 0.0
	for k := range all {
		qh += healthy[k]
		qf += given[k]
		all[k] = qf / qh
	}
	return all
}

// follows reports whether given obeys the ratio rule: each ratio at most 1 and none
// below the one before, both within the tolerance.
func follows(healthy, given []float64) bool {
	_, found := breach(healthy, given)
	return !found
}

// breach returns the first outcome at which given breaks the ratio rule.
func breach(healthy, given []float64) (k int, found bool) {
	r := ratios(healthy, given)
	for k := range r {
		if !(r[k] <= 1+tolerance) || k > 0 && !(r[k] >= r[k-1]-tolerance) {
			return k, true
		}
	}
	return 0, false
}

// broken says how a row breaks the ratio rule, and which row would not.
func broken(healthy, given []float64) string {
	k, _ := breach(healthy, given)
	r := ratios(healthy, given)
	var b strings.Builder
	b.WriteString("up to outcome ")
	b.WriteString(document.Number64(float64(k)))
	if !(r[k] <= 1+tolerance) {
		b.WriteString(" it is likelier than healthy, ")
		b.WriteString(short(r[k]))
		b.WriteString(" times, want at most 1")
	} else {
		b.WriteString(" its cumulative sum is ")
		b.WriteString(short(r[k]))
		b.WriteString(" of healthy's, less than the ")
		b.WriteString(short(r[k-1]))
		b.WriteString(" before; the ratio may not fall")
	}
	b.WriteString("; nearest row that would pass: [")
	for i, x := range printable(healthy, nearest(healthy, given)) {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(document.Number64(x))
	}
	b.WriteString("]")
	return b.String()
}

// short writes a ratio to four digits or so.
func short(x float64) string { return document.Number64(round(x, 4)) }

// nearest returns the row that obeys the ratio rule for healthy and is nearest to
// given: of all rows that do, the one whose ratios of cumulative sums have the least
// sum of squared differences from given's. Both rows have equal length and entries
// above 0 that sum to 1; so has the result.
//
// The ratios are those of an isotonic regression, by pooling adjacent violators,
// cut off at 1.
func nearest(healthy, given []float64) []float64 {
	// Blocks of outcomes that share a ratio.
	var mean []float64
	var size []int
	for _, r := range ratios(healthy, given) {
		mean, size = append(mean, r), append(size, 1)
		for n := len(mean); n > 1 && mean[n-2] > mean[n-1]; n = len(mean) {
			a, b := float64(size[n-2]), float64(size[n-1])
			mean[n-2] = (float64(mean[n-2]*a) + float64(mean[n-1]*b)) / (a + b)
			size[n-2] += size[n-1]
			mean, size = mean[:n-1], size[:n-1]
		}
	}
	// With ratio r before and r+d now, an outcome has r*h + d*Q_h: a sum of
	// terms that are not negative, so small entries keep their digits.
	row := make([]float64, 0, len(healthy))
	qh, before := 0.0, 0.0
	add := func(h, r float64) {
		qh += h
		row = append(row, float64(before*h)+float64((r-before)*qh))
		before = r
	}
	for i, r := range mean {
		for range size[i] {
			add(healthy[len(row)], min(r, 1))
		}
	}
	add(healthy[len(row)], 1)
	return row
}

// printable rounds a row that obeys the ratio rule to as few digits as it can with
// the rule still obeyed.
func printable(healthy, row []float64) []float64 {
	for digits := 2; digits < 17; digits++ {
		out := make([]float64, len(row))
		largest := 0
		for i, x := range row {
			out[i] = round(x, digits)
			if row[i] > row[largest] {
				largest = i
			}
		}
		// The largest entry takes up what rounding the others left.
		rest := 0.0
		for i, x := range out {
			if i != largest {
				rest += x
			}
		}
		out[largest] = round(1-rest, 12)
		if passes(healthy, out) {
			return out
		}
	}
	return row
}

// passes reports whether a row is fit to be shown as one that Load takes.
func passes(healthy, row []float64) bool {
	sum := 0.0
	for _, x := range row {
		if !(x > 0) {
			return false
		}
		sum += x
	}
	return sumsToOne(sum) && follows(healthy, row)
}
