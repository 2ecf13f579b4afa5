package plan

import (
	"encoding/json"
	"math"
	"testing"

	"pitwise/engine/model"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Source: Howard (1966), Information value theory, IEEE Trans. SSC-2, from memory: a bid
// against one rival; own cost uniform on 0 to 1, the rival's lowest bid uniform on 0 to 2. In
// ninety-sixths: 27 as it is, 1 for knowing the cost, 27 for knowing the rival's bid, 29 for
// both. Recomputed by hand as integrals. Here both are on a grid, which is good for a quarter
// of a ninety-sixth.
func TestTwoObservationsTogetherCanBeWorthMoreThanTheirSum(t *testing.T) {
	const costs, bids = 24, 240
	l := new(library)
	l.clear(1, costs*bids)
	var hyps []int32
	for h := range costs * bids {
		hyps = append(hyps, int32(h))
	}
	rival := func(j int) float64 { return 2 * (float64(j) + 0.5) / bids }
	own := func(i int) float64 { return (float64(i) + 0.5) / costs }
	l.add(&plan{step: Step{Kind: WriteOff}, cost: make([]float64, len(hyps))}) // no bid
	for b := range bids {                                                      // a bid just below each bid that the rival may make
		cost := make([]float64, len(hyps))
		for h := range cost {
			if i, j := h/bids, h%bids; j >= b {
				cost[h] = own(i) - rival(b)
			}
		}
		l.add(&plan{step: Step{Kind: SignOff}, cost: cost})
	}
	// What the best bids are worth where the states fall into groups that can be told apart.
	worth := func(groups int, group func(h int) int) float64 {
		total := 0.0
		some := make([][]int32, groups)
		for h := range hyps {
			some[group(h)] = append(some[group(h)], int32(h))
		}
		for _, hyps := range some {
			w := make([]float64, len(hyps))
			for i := range w {
				w[i] = 96.0 / (costs * bids)
			}
			_, v := l.best(0, hyps, w, record{}, set{})
			total -= v
		}
		return total
	}
	prior := worth(1, func(int) int { return 0 })
	cost := worth(costs, func(h int) int { return h / bids }) - prior
	bid := worth(bids, func(h int) int { return h % bids }) - prior
	both := worth(costs*bids, func(h int) int { return h }) - prior
	assert.InDelta(t, 27, prior, 0.25)
	assert.InDelta(t, 1, cost, 0.25)
	assert.InDelta(t, 27, bid, 0.25)
	assert.InDelta(t, 29, both, 0.25)
	assert.Greater(t, both, cost+bid+0.5)
}

func TestFreeInformationNeverCostsAndUselessTestsCostWhatTheyCost(t *testing.T) {
	models := uint64(8)
	if testing.Short() {
		models = 3
	}
	for seed := range models {
		p := withBlank(t, small(t, seed))
		g := newGrowth(p)
		for !g.work() {
		}
		l := g.library
		q := l.load(p.space.Prior().P, p.model.Root, l.net.n)
		for _, test := range p.tests {
			if p.model.Tests[test].At != p.model.Root {
				continue
			}
			now := math.Inf(1) // without the test
			for _, plan := range l.plans[q.setup] {
				if !plan.fresh.has(test) {
					now = min(now, dot(plan.cost, q.hyps, q.p))
				}
			}
			joint, odds := l.joint(nil, nil, q, test)
			after := 0.0
			for o, p := range odds {
				next := l.see(q, test, o, joint[o], p, l.net.n)
				_, v := l.best(next.setup, next.hyps, next.p, next.record, set{})
				after += p * v
			}
			assert.LessOrEqual(t, after, now+1e-9*(1+now), "seed %d: to look at test %d for nothing", seed, test)
			if p.model.Tests[test].ID == "blank" {
				assert.InDelta(t, now, after, 1e-9*(1+now), "seed %d: a test that can change nothing", seed)
			}
		}
	}
}

// withBlank returns a problem with one more test, which no fault has an effect on and which
// costs 1.25.
func withBlank(t testing.TB, p *Problem) *Problem {
	var file object
	require.NoError(t, json.Unmarshal(p.model.Text, &file))
	file["tests"] = append(file["tests"].([]any), object{"id": "blank", "title": "Blank", "at": p.model.Setups[p.model.Root].ID,
		"minutes": 0, "money": 1.25, "outcomes": outcomes(2), "healthy": []float64{0.5, 0.5}, "given": object{}, "steadiness": 1})
	text, err := json.Marshal(file)
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	return problem(t, m, p.Terms)
}
