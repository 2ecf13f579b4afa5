package plan

import (
	"math/rand/v2"
	"testing"

	"pitwise/engine/belief"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/trail"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// plain is the least expected cost with so many steps to go before an ending, by plain
// recursion over a dense belief and a record of counts. It shares no code with the solver.
type plain struct {
	*Problem
	laws [][][]float64 // by test and hypothesis
}

func newPlain(p *Problem) *plain {
	x := &plain{Problem: p}
	for t := range p.model.Tests {
		var rows [][]float64
		for h := range p.space.Len() {
			rows = append(rows, p.space.Outcomes(nil, t, h))
		}
		x.laws = append(x.laws, rows)
	}
	return x
}

func (x *plain) change(p []float64, counts [][]float64, c model.Change) ([]float64, [][]float64) {
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
	for _, f := range c.Fixes {
		step(f.Mode, f.P, true)
	}
	for _, r := range c.Risks {
		step(r.Mode, r.P, false)
	}
	kept := make([][]float64, len(counts))
	for t := range counts {
		if !x.space.Touches(c, t) {
			kept[t] = counts[t]
		}
	}
	return after, kept
}

func (x *plain) value(p []float64, setup int, counts [][]float64, steps int) float64 {
	move := func(s Step) ([]float64, [][]float64, float64) {
		q, c := p, counts
		for _, change := range x.WayChanges(s, setup) {
			q, c = x.change(q, c, change)
		}
		return q, c, x.StepCost(s, setup)
	}
	q, _, cost := move(Step{Kind: SignOff})
	best := min(x.Loss, cost+(1-q[0])*x.Comeback)
	if steps == 0 {
		return best
	}
	for _, t := range x.tests {
		q, c, cost := move(Step{DoTest, t})
		test := &x.model.Tests[t]
		seen := c[t]
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
			next := append([][]float64(nil), c...)
			next[t] = append([]float64(nil), seen...)
			next[t][o]++
			cost += sum * x.value(after, test.At, next, steps-1)
		}
		best = min(best, cost)
	}
	for _, r := range x.repairs {
		q, c, cost := move(Step{DoRepair, r})
		q, c = x.change(q, c, x.model.Repairs[r].Change)
		best = min(best, cost+x.value(q, x.model.Repairs[r].At, c, steps-1))
	}
	return best
}

func (e *Exact) plain(steps int) float64 {
	x := newPlain(e.Problem)
	cost := 0.0
	for _, s := range e.starts {
		counts := make([][]float64, len(e.model.Tests))
		for _, c := range e.tight.counts(s.node, e.model.Intake) {
			counts[e.model.Intake] = append(counts[e.model.Intake], float64(c))
		}
		cost += s.p * x.value(s.node.p, e.model.Root, counts, steps)
	}
	return cost
}

func TestTheBoundsHoldAgainstPlainRecursion(t *testing.T) {
	met, models, backups := 0, uint64(18), 4000
	if testing.Short() {
		models, backups = 9, 1500
	}
	for seed := range models {
		p := small(t, seed)
		if len(p.tests)+len(p.repairs) > 7 || p.space.Len() > 12 {
			continue // too slow for plain recursion
		}
		e, err := NewExact(p, Effort{Tolerance: 0.005, Backups: backups})
		require.NoError(t, err)
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
	assert.GreaterOrEqual(t, met, int(models)/9, "models on which plain recursion reaches the lower bound")
}

// A record with more results never makes a unit cheaper to bring to its end: what is known
// at one record bears on fuller ones. See hull.
func TestFullerRecordsAreWorthNoLess(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 1))
	held, strict := 0, 0
	for seed := range uint64(150) {
		p := small(t, seed)
		x := newPlain(p)
		b := make([]float64, p.space.Len())
		sum := 0.0
		for h := range b {
			b[h] = rng.ExpFloat64()
			sum += b[h]
		}
		for h := range b {
			b[h] /= sum
		}
		less, more := make([][]float64, len(p.model.Tests)), make([][]float64, len(p.model.Tests))
		for i := range p.model.Tests {
			for range p.model.Tests[i].Outcomes {
				n := float64(rng.IntN(2))
				less[i] = append(less[i], n)
				more[i] = append(more[i], n+float64(rng.IntN(3)))
			}
		}
		v, w := x.value(b, p.model.Root, less, 2), x.value(b, p.model.Root, more, 2)
		assert.LessOrEqual(t, v, w+1e-9*(1+w), "seed %d", seed)
		held++
		if v < w-1e-6 {
			strict++
		}
	}
	assert.Greater(t, held, 100)
	assert.Greater(t, strict, 5, "records that make a difference")
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
			e, err := NewExact(p, Effort{Tolerance: 0.005, Backups: backups})
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
		e, err := NewExact(p, Effort{Tolerance: 0.005, Backups: 2000})
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
	_, err = NewExact(NewProblem(s, trail.Terms{MinuteValue: 1, WorkingValue: 50}), Effort{Tolerance: 0.005, Backups: 10})
	require.ErrorIs(t, err, ErrTooLarge)

	e, err := NewExact(small(t, 5), Effort{Tolerance: 0.005, Backups: 10})
	require.NoError(t, err)
	_, err = e.Next(Situation{Belief: e.space.Prior(), Skipped: []bool{true}})
	require.ErrorIs(t, err, ErrSkipped)
}
