package exact

import (
	"math/rand/v2"
	"slices"
	"testing"

	"pitwise/engine/belief"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// plain is the least expected cost with so many steps to go before an ending, by plain
// recursion over a dense belief and all that was done. It shares no code with the solver.
type plain struct {
	*plan.Problem
	model *model.Model
	space *belief.Space
	laws  [][][]float64 // by test and hypothesis
}

// A deed is what was done to a unit, as plain keeps it.
type deed struct {
	counts [][]float64 // by test and outcome since a change touched it; nil for none
	tries  [][]float64 // by repair and fix
	seen   []int       // by test; -1 for none
}

func newPlain(p *plan.Problem) *plain {
	x := &plain{Problem: p, model: p.Space().Model(), space: p.Space()}
	for t := range x.model.Tests {
		var rows [][]float64
		for h := range x.space.Len() {
			rows = append(rows, x.space.Outcomes(nil, t, h))
		}
		x.laws = append(x.laws, rows)
	}
	return x
}

func (x *plain) nothing() deed {
	d := deed{counts: make([][]float64, len(x.model.Tests))}
	for range x.model.Tests {
		d.seen = append(d.seen, -1)
	}
	for r := range x.model.Repairs {
		d.tries = append(d.tries, make([]float64, len(x.model.Repairs[r].Change.Fixes)))
	}
	return d
}

// change does a setup step, or a repair if it is not -1.
func (x *plain) change(p []float64, d deed, c model.Change, repair int) ([]float64, deed) {
	after := append([]float64(nil), p...)
	step := func(mode int, chance float64, leaves bool) {
		next := append([]float64(nil), after...)
		for _, pair := range x.space.Pairs(mode) {
			from, to := pair.Without, pair.With
			if leaves {
				from, to = to, from
			}
			next[from] -= after[from] * chance
			next[to] += after[from] * chance
		}
		after = next
	}
	tries := make([][]float64, len(d.tries))
	for r := range tries {
		tries[r] = append([]float64(nil), d.tries[r]...)
	}
	for i, f := range c.Fixes {
		p := f.P
		if repair >= 0 && x.model.Repairs[repair].Steadiness > 0 {
			kappa := x.model.Repairs[repair].Steadiness
			p = kappa * f.P / (kappa + d.tries[repair][i])
			tries[repair][i]++
		}
		step(f.Mode, p, true)
	}
	for _, risk := range c.Risks {
		step(risk.Mode, risk.P, false)
		for r := range tries {
			for i := range tries[r] {
				if x.model.Repairs[r].Change.Fixes[i].Mode == risk.Mode {
					tries[r][i] = 0
				}
			}
		}
	}
	kept := make([][]float64, len(d.counts))
	for t := range d.counts {
		if !x.space.Touches(c, t) {
			kept[t] = d.counts[t]
		}
	}
	return after, deed{kept, tries, d.seen}
}

// offered reports whether a repair is on offer, read from the model alone.
func (x *plain) offered(repair int, seen []int) bool {
	asks := x.model.Repairs[repair].OnlyAfter
	possible := false
	for _, s := range asks.Any {
		if slices.Contains(s.Outcomes, seen[s.Test]) {
			return true
		}
		missing := false
		for _, tool := range x.model.Tests[s.Test].Needs {
			missing = missing || !slices.Contains(x.Terms.Tools, tool)
		}
		possible = possible || !missing
	}
	return len(asks.Any) == 0 || !possible && !asks.Strict
}

func (x *plain) value(p []float64, setup int, d deed, steps int) float64 {
	move := func(s plan.Step) ([]float64, deed, float64) {
		q, c := p, d
		for _, change := range x.WayChanges(s, setup) {
			q, c = x.change(q, c, change, -1)
		}
		return q, c, x.StepCost(s, setup)
	}
	q, _, cost := move(plan.Step{Kind: plan.SignOff})
	best := min(x.Loss, cost+(1-q[0])*x.Comeback)
	if steps == 0 {
		return best
	}
	for _, t := range x.Tests() {
		q, c, cost := move(plan.Step{Kind: plan.DoTest, Index: t})
		test := &x.model.Tests[t]
		seen := c.counts[t]
		if seen == nil {
			seen = make([]float64, len(test.Outcomes))
		}
		n := 0.0
		for _, k := range seen {
			n += k
		}
		for o := range test.Outcomes {
			after := make([]float64, len(q))
			sum := 0.0
			for h := range q {
				after[h] = q[h] * (test.Steadiness*x.laws[t][h][o] + seen[o]) / (test.Steadiness + n)
				sum += after[h]
			}
			if sum < 1e-12 {
				continue
			}
			for h := range after {
				after[h] /= sum
			}
			next := deed{append([][]float64(nil), c.counts...), c.tries, append([]int(nil), c.seen...)}
			next.counts[t] = append([]float64(nil), seen...)
			next.counts[t][o]++
			next.seen[t] = o
			cost += sum * x.value(after, test.At, next, steps-1)
		}
		best = min(best, cost)
	}
	for _, r := range x.Repairs() {
		if !x.offered(r, d.seen) {
			continue
		}
		q, c, cost := move(plan.Step{Kind: plan.DoRepair, Index: r})
		q, c = x.change(q, c, x.model.Repairs[r].Change, r)
		best = min(best, cost+x.value(q, x.model.Repairs[r].At, c, steps-1))
	}
	return best
}

// plain is what so many steps from the intake come to.
func (e *Solution) plain(steps int) float64 {
	x := newPlain(e.Problem)
	cost := 0.0
	for _, s := range e.starts {
		d := x.nothing()
		p := x.space.Prior()
		for t, o := range s.results {
			if o < 0 {
				continue
			}
			d.counts[t] = make([]float64, len(x.model.Tests[t].Outcomes))
			d.counts[t][o] = 1
			d.seen[t] = o
			if err := p.Observe(t, belief.Named(&x.model.Tests[t], o)); err != nil {
				panic(err)
			}
		}
		q := make([]float64, x.space.Len())
		for h := range q {
			q[h] = p.P(h)
		}
		cost += s.p * x.value(q, x.model.Root, d, steps)
	}
	return cost
}

func TestTheBoundsHoldAgainstPlainRecursion(t *testing.T) {
	for _, family := range []struct {
		name  string
		of    func(testing.TB, uint64) *plan.Problem
		seeds uint64
	}{{"version 1", small, 8}, {"version 2", second, 16}} {
		t.Run(family.name, func(t *testing.T) {
			met, tried, models, backups := 0, 0, family.seeds, 4000
			if testing.Short() {
				models, backups = family.seeds/2, 1500
			}
			for seed := range models {
				p := family.of(t, seed)
				if len(p.Tests())+len(p.Repairs()) > 7 || p.Space().Len() > 12 {
					continue // too slow for plain recursion
				}
				e, err := Solve(p, Effort{Tolerance: 0.005, Backups: backups})
				require.NoError(t, err)
				if len(e.starts) > 12 {
					continue // the same
				}
				tried++
				b := e.Bounds()
				require.LessOrEqual(t, b.Low, b.High, "seed %d", seed)
				last := e.plain(0)
				for steps := 1; steps <= 4; steps++ {
					v := e.plain(steps)
					assert.LessOrEqual(t, v, last+1e-9, "seed %d: more steps never cost more", seed)
					assert.GreaterOrEqual(t, v, b.Low-1e-6*(1+v), "seed %d: %d steps cost less than the lower bound", seed, steps)
					last = v
				}
				assert.LessOrEqual(t, b.High, last*1.005+1e-6, "seed %d: four steps are better than the solution", seed)
				if last <= b.Low*1.01 {
					met++ // four steps are all it takes, so that the bounds are held from both sides
				}
			}
			t.Logf("%d models, %d held from both sides", tried, met)
			assert.GreaterOrEqual(t, met, int(models)/9, "models on which plain recursion reaches the lower bound")
		})
	}
}

// A past with more results, or with fewer repairs on offer, never makes a unit cheaper to bring to its
// end; nor does one with more failures, where it is known what is wrong. See hull.
func TestAHarderPastIsWorthNoLess(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 1))
	held, results, fails, offers := 0, 0, 0, 0
	for seed := range uint64(150) {
		p := small(t, seed)
		if seed%2 == 1 {
			p = second(t, seed)
		}
		x := newPlain(p)
		b := make([]float64, p.Space().Len())
		sum := 0.0
		for h := range b {
			b[h] = rng.ExpFloat64()
			sum += b[h]
		}
		for h := range b {
			b[h] /= sum
		}
		dearer := func(b []float64, less, more deed, count *int, what string) {
			v, w := x.value(b, x.model.Root, less, 2), x.value(b, x.model.Root, more, 2)
			assert.LessOrEqual(t, v, w+1e-9*(1+w), "seed %d, %s", seed, what)
			held++
			if v < w-1e-6 {
				*count++
			}
		}
		less, more := x.nothing(), x.nothing()
		for i := range x.model.Tests {
			for range x.model.Tests[i].Outcomes {
				n := float64(rng.IntN(2))
				less.counts[i] = append(less.counts[i], n)
				more.counts[i] = append(more.counts[i], n+float64(rng.IntN(3)))
			}
		}
		dearer(b, less, more, &results, "more results")

		failed := x.nothing()
		for r := range failed.tries {
			for i := range failed.tries[r] {
				failed.tries[r][i] = float64(rng.IntN(3))
			}
		}
		sure := make([]float64, len(b))
		sure[rng.IntN(len(sure))] = 1
		dearer(sure, x.nothing(), failed, &fails, "failures")

		seen := x.nothing()
		for i := range seen.seen {
			seen.seen[i] = rng.IntN(len(x.model.Tests[i].Outcomes))
		}
		dearer(b, seen, x.nothing(), &offers, "nothing seen")
	}
	assert.Equal(t, 450, held)
	for _, n := range []int{results, fails, offers} {
		assert.Greater(t, n, 3, "pasts that make a difference")
	}
}

func TestMoreWorkNeverWidensTheBounds(t *testing.T) {
	seeds := []uint64{0, 3}
	if testing.Short() {
		seeds = seeds[:1]
	}
	for _, seed := range seeds {
		p := small(t, seed)
		var before Bounds
		for i, backups := range []int{0, 300, 1000} {
			e, err := Solve(p, Effort{Tolerance: 0.005, Backups: backups})
			require.NoError(t, err)
			b := e.Bounds()
			if i > 0 {
				assert.GreaterOrEqual(t, b.Low, before.Low-1e-9, "seed %d", seed)
				assert.LessOrEqual(t, b.High, before.High*1.001, "seed %d", seed)
			}
			before = b
		}
	}
}

func TestTheExactPolicyCostsWhatItsUpperBoundSaysAndAlwaysAnswersTheSame(t *testing.T) {
	for _, seed := range []uint64{1, 5, 8} {
		p := small(t, seed)
		e, err := Solve(p, Effort{Tolerance: 0.005, Backups: 2000})
		require.NoError(t, err)
		one := play(t, e, 1e-4, e.Next, nil)
		two := play(t, e, 1e-4, e.Next, nil)
		assert.Equal(t, one, two, "seed %d", seed)
		// The belief that the policy is asked about cuts what the model cannot hold, so that
		// it differs a little from the solution's.
		assert.InDelta(t, e.Bounds().High, one.cost, 0.015*one.cost, "seed %d", seed)
	}
}

func TestTheExactSolverRefusesWhatIsTooLarge(t *testing.T) {
	m, err := model.Load(random.Model(rand.New(rand.NewPCG(1, 1)), random.Size{Components: 9, Modes: 3, Tests: 4, Outcomes: 3, Repairs: 3, Setups: 2, MostFaults: 3, Exact: true}))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	_, err = Solve(plan.NewProblem(s, trail.Terms{MinuteValue: 1, WorkingValue: 50}), Effort{Tolerance: 0.005, Backups: 10})
	require.ErrorIs(t, err, ErrTooLarge)

	e, err := Solve(small(t, 5), Effort{Tolerance: 0.005, Backups: 10})
	require.NoError(t, err)
	_, err = e.Next(plan.Situation{Belief: e.Space().Prior(), Skipped: []bool{true}})
	require.ErrorIs(t, err, ErrSkipped)
}
