//go:build !js

package trail_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/random"
	"pitwise/engine/trail"
)

// A network in the form that bayesjs reads.
type network map[string]*node

type node struct {
	ID      string   `json:"id"`
	States  []string `json:"states"`
	Parents []string `json:"parents"`
	CPT     any      `json:"cpt"` // a row, or a list of when and then
}

type row = map[string]float64

type when struct {
	When map[string]string `json:"when"`
	Then row               `json:"then"`
}

type inference struct {
	Network  network           `json:"network"`
	Evidence map[string]string `json:"evidence"`
	Queries  [][2]string       `json:"queries"`
}

// An exporter writes a trail as a Bayesian network: a node for each component, sound or
// in one of its modes; again after each change, with the component before as its
// parent; a node for each result, with the components that the test knows, and the
// results of the same test since a change touched it, as its parents; and for a reading
// a node that is "seen" with the weight of the outcome as its probability. It has its
// own outcome law, its own normal mass and its own reading of the files.
//
// It holds for most_faults = all only: a cut cannot be said in a network.
type exporter struct {
	model  exported
	net    network
	given  map[string]string
	now    []string            // by component: the node of its present state
	urns   map[string][]string // by test: the nodes of its results since it was touched
	states map[string][]string // of each component
}

type exported struct {
	Components []struct {
		ID    string
		Modes []struct {
			ID    string
			Prior float64
		}
	}
	Tests []struct {
		ID       string
		Reading  *struct{ Percent, Absolute float64 }
		Outcomes []struct {
			ID       string
			From, To *float64
		}
		Healthy    []float64
		Given      map[string][]float64
		Steadiness float64
	}
	Repairs []struct {
		ID           string
		Fixes, Risks map[string]float64
	}
}

type exportedEvent struct {
	N                     int
	Kind                  string
	Test, Outcome, Repair string
	Reading               *float64
}

func export(t *testing.T, modelText, trailText []byte) inference {
	t.Helper()
	x := &exporter{net: network{}, given: map[string]string{}, urns: map[string][]string{}, states: map[string][]string{}}
	require.NoError(t, json.Unmarshal(modelText, &x.model))
	var tr struct{ Events []exportedEvent }
	require.NoError(t, json.Unmarshal(trailText, &tr))
	for _, c := range x.model.Components {
		prior, states, sound := row{}, []string{"sound"}, 1.0
		for _, m := range c.Modes {
			prior[m.ID] = m.Prior
			states = append(states, m.ID)
			sound -= m.Prior
		}
		prior["sound"] = sound
		x.states[c.ID] = states
		x.now = append(x.now, c.ID)
		x.net[c.ID] = &node{ID: c.ID, States: states, Parents: []string{}, CPT: prior}
	}
	for _, e := range tr.Events {
		switch e.Kind {
		case "result":
			x.result(e)
		case "repair":
			x.repair(e)
		}
	}
	var queries [][2]string
	for c, part := range x.model.Components {
		names := []string{x.now[c]}
		if x.now[c] != part.ID {
			names = append(names, part.ID) // at intake
		}
		for _, name := range names {
			for _, state := range x.states[part.ID][1:] {
				queries = append(queries, [2]string{name, state})
			}
		}
	}
	return inference{x.net, x.given, queries}
}

// combine calls f with every combination of the states of the given nodes.
func (x *exporter) combine(nodes []string, f func(map[string]string)) {
	chosen := map[string]string{}
	var next func(int)
	next = func(i int) {
		if i == len(nodes) {
			f(chosen)
			return
		}
		for _, s := range x.net[nodes[i]].States {
			chosen[nodes[i]] = s
			next(i + 1)
		}
	}
	next(0)
}

func copied(m map[string]string) map[string]string {
	out := map[string]string{}
	for k, v := range m {
		out[k] = v
	}
	return out
}

func (x *exporter) result(e exportedEvent) {
	for _, one := range x.model.Tests {
		if one.ID != e.Test {
			continue
		}
		n := &node{ID: fmt.Sprintf("n%d", e.N)}
		for _, o := range one.Outcomes {
			n.States = append(n.States, o.ID)
		}
		var parts []int // the components that matter
		for c, part := range x.model.Components {
			for _, m := range part.Modes {
				if _, ok := one.Given[part.ID+"."+m.ID]; ok {
					parts = append(parts, c)
					n.Parents = append(n.Parents, x.now[c])
					break
				}
			}
		}
		earlier := x.urns[e.Test]
		n.Parents = append(n.Parents, earlier...)
		var table []when
		x.combine(n.Parents, func(chosen map[string]string) {
			// The law by the survivor's side: products of the ratios of cumulative sums.
			var ratios [][]float64
			for _, c := range parts {
				if s := chosen[x.now[c]]; s != "sound" {
					if given, ok := one.Given[x.model.Components[c].ID+"."+s]; ok {
						ratios = append(ratios, given)
					}
				}
			}
			count := map[string]float64{}
			for _, name := range earlier {
				count[chosen[name]]++
			}
			then, below, healthy := row{}, 0.0, 0.0
			sums := make([]float64, len(ratios))
			for k, o := range one.Outcomes {
				healthy += one.Healthy[k]
				f := healthy
				for i, given := range ratios {
					sums[i] += given[k]
					f *= sums[i] / healthy
				}
				then[o.ID] = (one.Steadiness*(f-below) + count[o.ID]) / (one.Steadiness + float64(len(earlier)))
				below = f
			}
			table = append(table, when{copied(chosen), then})
		})
		if n.CPT = any(table); len(n.Parents) == 0 {
			n.Parents, n.CPT = []string{}, table[0].Then
		}
		x.net[n.ID] = n
		x.urns[e.Test] = append(earlier, n.ID)
		if e.Reading == nil {
			x.given[n.ID] = e.Outcome
			return
		}
		seen := &node{ID: n.ID + "-seen", States: []string{"yes", "no"}, Parents: []string{n.ID}}
		var weights []when
		for _, o := range one.Outcomes {
			u := (one.Reading.Percent/100*math.Abs(*e.Reading) + one.Reading.Absolute) / math.Sqrt(3)
			phi := func(border *float64, open float64) float64 {
				if border == nil {
					return open
				}
				return 0.5 * math.Erfc(-(*border-*e.Reading)/u/math.Sqrt2)
			}
			w := phi(o.To, 1) - phi(o.From, 0)
			weights = append(weights, when{map[string]string{n.ID: o.ID}, row{"yes": w, "no": 1 - w}})
		}
		seen.CPT = weights
		x.net[seen.ID] = seen
		x.given[seen.ID] = "yes"
		return
	}
}

func (x *exporter) repair(e exportedEvent) {
	for _, r := range x.model.Repairs {
		if r.ID != e.Repair {
			continue
		}
		for c, part := range x.model.Components {
			moves := false
			risk := row{}
			for _, m := range part.Modes {
				_, fixed := r.Fixes[part.ID+"."+m.ID]
				p, risked := r.Risks[part.ID+"."+m.ID]
				moves = moves || fixed || risked
				if risked {
					risk[m.ID] = p
				}
			}
			if !moves {
				continue
			}
			n := &node{ID: fmt.Sprintf("%s-after-%d", part.ID, e.N), States: x.states[part.ID], Parents: []string{x.now[c]}}
			var table []when
			for _, s := range n.States {
				stays := 1.0
				if s == "sound" {
					stays = 0
				} else if p, ok := r.Fixes[part.ID+"."+s]; ok {
					stays = 1 - p
				}
				then := row{}
				for _, to := range n.States {
					then[to] = 0
				}
				sound := 1 - stays
				for _, m := range part.Modes { // at most one
					then[m.ID] = (1 - stays) * risk[m.ID]
					sound -= then[m.ID]
				}
				then["sound"] = sound
				if s != "sound" {
					then[s] += stays
				}
				table = append(table, when{map[string]string{x.now[c]: s}, then})
			}
			n.CPT = table
			x.net[n.ID] = n
			x.now[c] = n.ID
		}
		for _, one := range x.model.Tests {
			for id := range one.Given {
				_, fixed := r.Fixes[id]
				_, risked := r.Risks[id]
				if fixed || risked {
					delete(x.urns, one.ID)
				}
			}
		}
	}
}

// library is the folder with the libraries to check against. With PITWISE_NPM set they
// have to be there.
func library(t *testing.T) string {
	t.Helper()
	if dir := os.Getenv("PITWISE_NPM"); dir != "" {
		_, err := os.Stat(filepath.Join(dir, "node_modules", "bayesjs"))
		require.NoError(t, err, "bayesjs is not installed: run npm ci --ignore-scripts in %s", dir)
		return dir
	}
	dir := filepath.Join("..", "..", "testdata", "npm")
	if _, err := os.Stat(filepath.Join(dir, "node_modules", "bayesjs")); err != nil {
		t.Skip("bayesjs is not installed and PITWISE_NPM is not set; go run ./cmd/dev test runs this check")
	}
	return dir
}

// Source: bayesjs 0.6.5 (npm), exact inference by the junction tree algorithm.
func TestEveryPosteriorAgreesWithAGeneralBayesianLibrary(t *testing.T) {
	dir := library(t)
	node, err := exec.LookPath("node")
	require.NoError(t, err, "Node.js 20 or newer is needed")

	const models = 60
	var cases []inference
	var texts [][2][]byte
	changed, measured, repeated := 0, 0, 0
	for seed := uint64(0); len(cases) < models; seed++ {
		rng := rand.New(rand.NewPCG(seed, 400))
		size := random.Size{Components: 2 + int(seed%3), Modes: 2, Tests: 4, Outcomes: 3, Repairs: 3, Setups: 1, Exact: seed%2 == 0}
		size.MostFaults = size.Components
		if !size.Exact {
			size.MostFaults = 6
		}
		modelText := random.Model(rng, size)
		trailText := random.Trail(rng, modelText, random.Length{Events: 6, Repeats: 3, Only: []string{"result", "result", "result", "repair"}})
		c := export(t, modelText, trailText)
		cases, texts = append(cases, c), append(texts, [2][]byte{modelText, trailText})
		for id, n := range c.Network {
			switch {
			case strings.Contains(id, "after"):
				changed++
			case strings.Contains(id, "seen"):
				measured++
			case strings.HasPrefix(id, "n") && len(n.Parents) > 0 && strings.HasPrefix(n.Parents[len(n.Parents)-1], "n"):
				repeated++
			}
		}
	}
	require.True(t, changed > 20 && measured > 20 && repeated > 20, "%d changes, %d readings, %d repeats", changed, measured, repeated)

	input, err := json.Marshal(cases)
	require.NoError(t, err)
	run := exec.Command(node, "infer.cjs")
	run.Dir = dir
	run.Stdin = bytes.NewReader(input)
	var said bytes.Buffer
	run.Stderr = &said
	output, err := run.Output()
	require.NoError(t, err, said.String())
	var answers [][]float64
	require.NoError(t, json.Unmarshal(output, &answers))
	require.Len(t, answers, models)

	checked := 0
	for i, c := range cases {
		s, tr := open(t, texts[i][0], texts[i][1])
		m := s.Model()
		account, err := trail.Replay(s, tr)
		require.NoError(t, err)
		origin, err := trail.Origin(s, tr)
		require.NoError(t, err)
		now := trail.OddsOf(account.Final)
		for q, query := range c.Queries {
			part, _, after := strings.Cut(query[0], "-after-")
			id := part + "." + query[1]
			for f, mode := range m.Modes {
				if string(mode.ID) != id {
					continue
				}
				checked++
				want := answers[i][q]
				if !after {
					assert.InEpsilon(t, want, origin.Modes[f], 1e-9, "model %d, %s at intake", i, id)
				}
				if after || untouched(c, part) {
					assert.InEpsilon(t, want, now.Modes[f], 1e-9, "model %d, %s now", i, id)
				}
			}
		}
	}
	assert.Greater(t, checked, 3*models)
}

// untouched tells whether a component has no later node: its node at intake is also
// what it is now.
func untouched(c inference, part string) bool {
	for id := range c.Network {
		if strings.HasPrefix(id, part+"-after-") {
			return false
		}
	}
	return true
}
