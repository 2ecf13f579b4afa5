package sim_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/sim"
	"pitwise/engine/trail"
)

// A model whose units can be followed by hand: one fault, one look, one sure repair.
const lamp = `{
	"format": "pitwise/model", "version": 1, "id": "lamp", "revision": "1", "title": "A lamp",
	"most_faults": 1, "sources": {"made-up": {"kind": "memory", "cite": "invented for a test"}},
	"setups": [{"id": "shut"}, {"id": "open", "inside": "shut",
		"enter": {"minutes": 3, "money": 0, "source": "made-up"}, "leave": {"minutes": 2, "money": 0, "source": "made-up"}}],
	"components": [{"id": "bulb", "modes": [{"id": "blown", "prior": 0.25, "source": "made-up"}]}],
	"tests": [{"id": "switch-on", "intake": true, "at": "shut", "minutes": 1, "money": 0,
		"outcomes": [{"id": "shines"}, {"id": "dark"}], "healthy": [0.9, 0.1], "given": {"bulb.blown": [0.2, 0.8]},
		"steadiness": 0.5, "source": "made-up"}],
	"repairs": [{"id": "new-bulb", "at": "open", "minutes": 4, "money": 1.5, "fixes": {"bulb.blown": 1}, "source": "made-up"}]
}`

var terms = trail.Terms{MinuteValue: 0.5, Currency: "EUR", WorkingValue: 60, AsIsValue: 10, ComebackCost: 40}

func load(t testing.TB, text string) (*belief.Space, *plan.Problem) {
	t.Helper()
	m, err := model.Load([]byte(text))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	return s, plan.NewProblem(s, terms)
}

func topLoader(t testing.TB) (*belief.Space, *plan.Problem) {
	t.Helper()
	text, ok := catalog.Text("top-loader")
	require.True(t, ok)
	s, _ := load(t, string(text))
	with := terms
	for _, tool := range s.Model().Tools {
		with.Tools = append(with.Tools, tool.ID)
	}
	return s, plan.NewProblem(s, with)
}

func TestUnitsAreDrawnAsTheDecisionProblemSays(t *testing.T) {
	s, _ := load(t, lamp)
	const n = 40_000
	var faulty, again float64
	for i := range n {
		u, intake := sim.Draw(s, 3, i)
		require.Equal(t, []sim.Answer{{Test: 0, Outcome: 1}}, intake, "nobody brings in a lamp that shines")
		if u.Faulty() {
			faulty++
		}
		if u.Run(0) == 1 {
			again++
		}
	}
	// by hand: P(blown | dark) = 0.25*0.8 / (0.25*0.8 + 0.75*0.1)
	p := 0.2 / 0.275
	within(t, p, faulty/n, n)
	// by hand: the second of two draws from the urn, (kappa p + 1) / (kappa + 1)
	q := p*(0.5*0.8+1)/1.5 + (1-p)*(0.5*0.1+1)/1.5
	within(t, q, again/n, n)
}

// within checks a share of n draws against its probability, four standard errors wide.
func within(t *testing.T, want, got, n float64) {
	t.Helper()
	assert.InDelta(t, want, got, 4*math.Sqrt(want*(1-want)/n))
}

func TestRepeatsStartAfreshAfterAChangeThatTouchesTheTest(t *testing.T) {
	s, p := load(t, lamp)
	_ = p
	const n = 40_000
	shines := 0.0
	for i := range n {
		u, _ := sim.Draw(s, 5, i)
		u.Repair(0)
		require.False(t, u.Faulty(), "the repair is sure")
		if u.Run(0) == 0 {
			shines++
		}
	}
	within(t, 0.9, shines/n, n) // by hand: a fresh draw from the healthy row
}

func TestEveryCostIsCounted(t *testing.T) {
	_, p := load(t, lamp)
	runs, err := sim.PlayAll(p, func() (sim.Policy, error) { return sim.NewChecklist(p), nil }, 11, 500, 2, nil, nil)
	require.NoError(t, err)
	for n, r := range runs {
		// by hand: in 3, bulb 4, out 2, switch on 1: 10 minutes and 1.50; then signed off, since
		// the way back is already made, or written off, since the list has one repair.
		assert.InDelta(t, 10.0, r.Minutes, 1e-12)
		assert.InDelta(t, 1.5, r.Money, 1e-12)
		assert.Equal(t, 2, r.Steps)
		assert.False(t, r.Faulty)
		want := 10*0.5 + 1.5
		if !r.SignedOff {
			want += 50
		}
		assert.InDelta(t, want, r.Cost, 1e-12, "unit %d", n)
	}
	sum := sim.Summarise(runs)
	assert.InDelta(t, 1, sum.Fixed+sum.WrittenOff+sum.ComeBack, 1e-9)
	within(t, 0.9, sum.Fixed, 500)
}

// played is how many units a test plays: few under wasm, where the answers are the same.
func played(all, few int) int {
	if testing.Short() {
		return few
	}
	return all
}

func TestTheAnswerDoesNotDependOnTheNumberOfGoroutines(t *testing.T) {
	_, p := topLoader(t)
	units := played(8, 2)
	for name, policy := range habits(p) {
		if testing.Short() && name != "cheapest-first" {
			continue // the race detector sees the same of one as of all
		}
		t.Run(name+" plays each unit alike on one and on three", func(t *testing.T) {
			one, err := sim.PlayAll(p, policy, 7, units, 1, nil, nil)
			require.NoError(t, err)
			three, err := sim.PlayAll(p, policy, 7, units, 3, nil, nil)
			require.NoError(t, err)
			assert.Equal(t, one, three)
		})
	}
}

func habits(p *plan.Problem) map[string]func() (sim.Policy, error) {
	return map[string]func() (sim.Policy, error){
		"checklist":      func() (sim.Policy, error) { return sim.NewChecklist(p), nil },
		"cheapest-first": func() (sim.Policy, error) { return sim.CheapestFirst(), nil },
		"information":    func() (sim.Policy, error) { return sim.Information(), nil },
		"clairvoyant":    func() (sim.Policy, error) { return sim.NewClairvoyant(p), nil },
	}
}

func TestNobodyDoesBetterThanTheClairvoyant(t *testing.T) {
	_, p := topLoader(t)
	units := played(40, 20)
	mean := map[string]sim.Summary{}
	for name, policy := range habits(p) {
		runs, err := sim.PlayAll(p, policy, 1, units, 2, nil, nil)
		require.NoError(t, err)
		mean[name] = sim.Summarise(runs)
	}
	for name, s := range mean {
		if name != "clairvoyant" {
			assert.Greater(t, s.MeanCost, mean["clairvoyant"].MeanCost, name)
		}
	}
	assert.Zero(t, mean["clairvoyant"].ComeBack, "it never signs off a fault, the risk of closing up apart")
}

func TestTheSameFaultsAreDrawnForEveryPolicy(t *testing.T) {
	s, _ := topLoader(t)
	for n := range 50 {
		a, i := sim.Draw(s, 9, n)
		b, j := sim.Draw(s, 9, n)
		require.Equal(t, a.Modes(), b.Modes())
		require.Equal(t, i, j)
		require.Equal(t, a.Run(1), b.Run(1))
	}
}

func TestAMemoryChangesNothingButTheWork(t *testing.T) {
	p := atBench(t, radio, "meter", "brush") // few are asked, so that many units go the same way
	units := 60
	made := 0
	counting := func() (sim.Policy, error) { return counted{sim.Information(), &made}, nil }
	want, err := sim.PlayAll(p, counting, 13, units, 1, nil, nil)
	require.NoError(t, err)
	all := made
	made = 0
	var memory sim.Memory
	got, err := sim.PlayAll(p, func() (sim.Policy, error) { return memory.Of(counted{sim.Information(), &made}), nil }, 13, units, 1, nil, nil)
	require.NoError(t, err)
	assert.Equal(t, want, got)
	assert.Less(t, made, all)
}

// counted counts the decisions of a policy.
type counted struct {
	sim.Policy
	made *int
}

func (c counted) Next(b *sim.Bench) (plan.Step, error) {
	*c.made++
	return c.Policy.Next(b)
}
