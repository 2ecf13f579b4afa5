package random

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestModelsObeyTheRowRulesOfTheFormat(t *testing.T) {
	for seed := range uint64(400) {
		rng := rand.New(rand.NewPCG(seed, 1))
		text := Model(rng, Size{Components: 5, Modes: 3, Tests: 5, Outcomes: 5, Repairs: 4, Setups: 4, Extreme: seed%2 == 0})
		if seed%3 == 0 {
			text, _ = Small(rng)
		}
		var d document
		require.NoError(t, json.Unmarshal(text, &d))
		require.GreaterOrEqual(t, d.MostFaults, 1)
		require.LessOrEqual(t, d.MostFaults, 6)
		intakes, roots := 0, 0
		for _, s := range d.Setups {
			if s.Inside == "" {
				roots++
			}
		}
		for _, c := range d.Components {
			sum := 0.0
			for _, m := range c.Modes {
				require.Positive(t, m.Prior)
				sum += m.Prior
			}
			require.Less(t, sum, 1.0)
		}
		for _, one := range d.Tests {
			if one.Intake {
				intakes++
			}
			require.Positive(t, one.Steadiness)
			require.True(t, row(one.Healthy), "seed %d: %v", seed, one.Healthy)
			for id, p := range one.Given {
				require.Len(t, p, len(one.Healthy))
				require.True(t, row(p), "seed %d %s: %v", seed, id, p)
				qh, qf, before := 0.0, 0.0, 0.0
				for k := range p {
					qh += one.Healthy[k]
					qf += p[k]
					require.LessOrEqual(t, qf/qh, 1+1e-9, "seed %d %s", seed, id)
					require.GreaterOrEqual(t, qf/qh, before-1e-9, "seed %d %s", seed, id)
					before = qf / qh
				}
			}
			partition(t, one)
		}
		require.Equal(t, 1, intakes)
		require.Equal(t, 1, roots)
		risks := []map[string]float64{}
		for _, r := range d.Repairs {
			risks = append(risks, r.Risks)
		}
		for _, s := range d.Setups {
			if s.Enter != nil {
				risks = append(risks, s.Enter.Risks, s.Leave.Risks)
			}
		}
		for _, r := range risks {
			seen := map[string]bool{}
			for id, p := range r {
				part, _, _ := strings.Cut(id, ".")
				require.False(t, seen[part], "two risks of one component")
				seen[part] = true
				require.True(t, p >= 0 && p <= 1)
			}
		}
	}
}

func row(p []float64) bool {
	sum := 0.0
	for _, x := range p {
		if !(x > 0) {
			return false
		}
		sum += x
	}
	return math.Abs(sum-1) <= 1e-9
}

// partition follows the intervals from the one without `from` to the one without `to`.
func partition(t *testing.T, one test) {
	if one.Reading == nil {
		for _, o := range one.Outcomes {
			require.True(t, o.From == nil && o.To == nil)
		}
		return
	}
	var at *float64
	for range one.Outcomes {
		found := false
		for _, o := range one.Outcomes {
			if (at == nil) == (o.From == nil) && (at == nil || *at == *o.From) {
				if o.To != nil && o.From != nil {
					require.Less(t, *o.From, *o.To)
				}
				at, found = o.To, true
				break
			}
		}
		require.True(t, found, "a gap")
		if at == nil {
			break
		}
	}
	require.Nil(t, at, "the last interval has no end")
}

func TestTheSameSourceGivesTheSameText(t *testing.T) {
	size := Size{Components: 4, Modes: 2, Tests: 4, Outcomes: 4, Repairs: 3, Setups: 3, Extreme: true}
	for seed := range uint64(20) {
		a, b := rand.New(rand.NewPCG(seed, 2)), rand.New(rand.NewPCG(seed, 2))
		ma, mb := Model(a, size), Model(b, size)
		require.Equal(t, string(ma), string(mb))
		require.Equal(t, string(Trail(a, ma, Length{Events: 30})), string(Trail(b, mb, Length{Events: 30})))
	}
}

func TestTrailsUseEveryKindOfEvent(t *testing.T) {
	kinds, readings, voidedVoids, again := map[string]int{}, 0, 0, 0
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 3))
		text := Model(rng, Size{Components: 4, Modes: 2, Tests: 4, Outcomes: 4, Repairs: 3, Setups: 3})
		var one trail
		require.NoError(t, json.Unmarshal(Trail(rng, text, Length{Events: 20}), &one))
		require.Len(t, one.Events, 20)
		setup := ""
		for i, e := range one.Events {
			require.Equal(t, i+1, e.N)
			kinds[e.Kind]++
			if e.Reading != nil {
				readings++
			}
			if e.Kind == "void" {
				require.Less(t, e.Of, e.N)
				if one.Events[e.Of-1].Kind == "void" {
					voidedVoids++
				}
			}
			if e.Kind == "setup" {
				if e.Setup == setup {
					again++
				}
				setup = e.Setup
			}
		}
	}
	assert.Len(t, kinds, 7)
	assert.Positive(t, readings)
	assert.Positive(t, voidedVoids)
	assert.Positive(t, again)
}

func TestSmallModelsHaveTheSizeTheyPromise(t *testing.T) {
	for seed := range uint64(200) {
		text, terms := Small(rand.New(rand.NewPCG(seed, 4)))
		var d document
		require.NoError(t, json.Unmarshal(text, &d))
		modes, fixed := 0, map[string]bool{}
		for _, c := range d.Components {
			modes += len(c.Modes)
		}
		for _, r := range d.Repairs {
			for id := range r.Fixes {
				fixed[id] = true
			}
		}
		require.True(t, modes >= 3 && modes <= 5, "%d modes", modes)
		require.True(t, len(d.Tests) >= 3 && len(d.Tests) <= 5)
		require.True(t, len(d.Repairs) >= 2 && len(d.Repairs) <= 4)
		require.True(t, len(d.Setups) >= 1 && len(d.Setups) <= 2)
		require.Len(t, fixed, modes, "every mode has a repair")
		require.Greater(t, terms.WorkingValue, terms.AsIsValue)
	}
}
