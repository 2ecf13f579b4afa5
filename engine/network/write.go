package network

import "strconv"

// BIF returns the network in the Bayesian Interchange Format, 0.15. A row of a table with parents
// names the parents' states; probabilities are those of the variable's states, in their order.
func (n *Network) BIF() []byte {
	b := append([]byte("network "), n.Name...)
	b = append(b, " {\n}\n"...)
	for i := range n.Variables {
		v := &n.Variables[i]
		b = append(b, "variable "+v.Name+" {\n  type discrete [ "...)
		b = strconv.AppendInt(b, int64(len(v.States)), 10)
		b = append(b, " ] { "...)
		for j, s := range v.States {
			if j > 0 {
				b = append(b, ", "...)
			}
			b = append(b, s...)
		}
		b = append(b, " };\n}\n"...)
	}
	for i := range n.Variables {
		b = n.probability(b, &n.Variables[i])
	}
	return b
}

// probability writes one table.
func (n *Network) probability(b []byte, v *Variable) []byte {
	b = append(b, "probability ( "+v.Name...)
	for j, p := range v.Parents {
		if j == 0 {
			b = append(b, " | "...)
		} else {
			b = append(b, ", "...)
		}
		b = append(b, n.Variables[p].Name...)
	}
	b = append(b, " ) {\n"...)
	at := make([]int, len(v.Parents))
	for r := range n.rows(v) {
		if len(at) == 0 {
			b = append(b, "  table "...)
		} else {
			b = append(b, "  ("...)
			for j, p := range v.Parents {
				if j > 0 {
					b = append(b, ", "...)
				}
				b = append(b, n.Variables[p].States[at[j]]...)
			}
			b = append(b, ") "...)
		}
		for k, x := range v.Table[r*len(v.States) : (r+1)*len(v.States)] {
			if k > 0 {
				b = append(b, ", "...)
			}
			b = strconv.AppendFloat(b, x, 'g', -1, 64)
		}
		b = append(b, ";\n"...)
		for j := len(at) - 1; j >= 0; j-- {
			if at[j]++; at[j] < len(n.Variables[v.Parents[j]].States) {
				break
			}
			at[j] = 0
		}
	}
	return append(b, "}\n"...)
}

// UAI returns the network as a BAYES file: the variables' numbers of states, then for each
// variable its parents and itself, then its table. A variable's number is its index.
func (n *Network) UAI() []byte {
	b := append([]byte("BAYES\n"), strconv.Itoa(len(n.Variables))...)
	for i := range n.Variables {
		b = append(b, separator(i > 0)...)
		b = strconv.AppendInt(b, int64(len(n.Variables[i].States)), 10)
	}
	b = append(b, '\n')
	b = strconv.AppendInt(b, int64(len(n.Variables)), 10)
	b = append(b, '\n')
	for i := range n.Variables {
		v := &n.Variables[i]
		b = strconv.AppendInt(b, int64(len(v.Parents)+1), 10)
		for _, p := range v.Parents {
			b = append(b, ' ')
			b = strconv.AppendInt(b, int64(p), 10)
		}
		b = append(b, ' ')
		b = strconv.AppendInt(b, int64(i), 10)
		b = append(b, '\n')
	}
	for i := range n.Variables {
		v := &n.Variables[i]
		b = append(b, '\n')
		b = strconv.AppendInt(b, int64(len(v.Table)), 10)
		b = append(b, '\n')
		for j, x := range v.Table {
			b = append(b, separator(j%len(v.States) > 0)...)
			b = strconv.AppendFloat(b, x, 'g', -1, 64)
		}
		b = append(b, '\n')
	}
	return b
}

// separator stands before a number: a blank within a line, else a new line.
func separator(within bool) string {
	if within {
		return " "
	}
	return "\n"
}
