package plan

// A Vector is one plan of the planner's library as a method of its own sees it: what following it
// costs, by hypothesis. The literature calls it an alpha vector. It must not be changed.
type Vector struct {
	Step Step      // that the plan begins with
	Cost []float64 // by hypothesis of those that plans work with, the first of the space; Currency
	plan *plan
}

// Vectors grows the library of a problem and returns its plans, by the setup they start in. It is
// long work: see engine/DECISIONS.md.
func Vectors(p *Problem) [][]Vector {
	g := newGrowth(p)
	for !g.work() {
	}
	return g.vectors()
}

func (l *library) vectors() [][]Vector {
	all := make([][]Vector, len(l.plans))
	for s, plans := range l.plans {
		for _, q := range plans {
			all[s] = append(all[s], Vector{q.step, q.cost, q})
		}
	}
	return all
}

// Holds reports whether a plan can be followed at a record and then costs no more than its Cost:
// counts are the results of each test since a change touched it, by outcome, nil for none;
// tries and seen are those of a Situation, neither nil unless the problem has no use for it. The
// failures have to be just those that the plan takes its repairs to have had. A Vector that is made of
// a Step and a Cost alone holds everywhere.
func (v *Vector) Holds(counts [][]float64, tries [][]int, seen []int) bool {
	if v.plan == nil {
		return true
	}
	for _, t := range v.plan.tries {
		for i, n := range tries[t.repair] {
			if n != t.most[i] {
				return false
			}
		}
	}
	r := record{counts: counts, tries: tries, seen: seen}
	for t, c := range counts {
		if c != nil {
			r.run = r.run.with(t)
		}
	}
	return v.plan.serves(&r, &set{})
}
