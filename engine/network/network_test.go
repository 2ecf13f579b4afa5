//go:build !js

package network_test

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/network"
)

// A node in the form that bayesjs reads.
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
	Network  map[string]*node  `json:"network"`
	Evidence map[string]string `json:"evidence"`
	Queries  [][2]string       `json:"queries"`
}

var (
	bifVariable    = regexp.MustCompile(`(?s)variable (\w+) \{\s*type discrete \[ (\d+) \] \{ ([^}]*) \};\s*\}`)
	bifProbability = regexp.MustCompile(`(?s)probability \( (\w+)(?: \| ([^)]*))? \) \{(.*?)\n\}`)
	bifRow         = regexp.MustCompile(`(?:table|\(([^)]*)\)) ([^;]*);`)
)

// readBIF reads what the grammar of the Bayesian Interchange Format (version 0.15) calls
// VariableDeclaration and ProbabilityDeclaration.
func readBIF(t *testing.T, text []byte) map[string]*node {
	t.Helper()
	net := map[string]*node{}
	for _, m := range bifVariable.FindAllSubmatch(text, -1) {
		n := &node{ID: string(m[1]), States: strings.Split(string(m[3]), ", "), Parents: []string{}}
		require.Equal(t, string(m[2]), strconv.Itoa(len(n.States)))
		require.NotContains(t, net, n.ID)
		net[n.ID] = n
	}
	tables := bifProbability.FindAllSubmatch(text, -1)
	require.Len(t, tables, len(net))
	for _, m := range tables {
		n := net[string(m[1])]
		require.NotNil(t, n)
		if len(m[2]) > 0 {
			n.Parents = strings.Split(string(m[2]), ", ")
		}
		var rows []when
		for _, r := range bifRow.FindAllSubmatch(m[3], -1) {
			w := when{When: map[string]string{}, Then: row{}}
			if len(r[1]) > 0 {
				for i, s := range strings.Split(string(r[1]), ", ") {
					w.When[n.Parents[i]] = s
				}
			}
			numbers := strings.Split(string(r[2]), ", ")
			require.Len(t, numbers, len(n.States))
			for i, x := range numbers {
				p, err := strconv.ParseFloat(x, 64)
				require.NoError(t, err)
				w.Then[n.States[i]] = p
			}
			rows = append(rows, w)
		}
		n.CPT = rows
		if len(n.Parents) == 0 {
			require.Len(t, rows, 1)
			n.CPT = rows[0].Then
		}
	}
	return net
}

// readUAI reads a BAYES file; a variable is called v and its number, a state s and its number.
func readUAI(t *testing.T, text []byte) map[string]*node {
	t.Helper()
	words := strings.Fields(string(text))
	next := func() string {
		require.NotEmpty(t, words, "the file ends too early")
		w := words[0]
		words = words[1:]
		return w
	}
	number := func() int {
		n, err := strconv.Atoi(next())
		require.NoError(t, err)
		return n
	}
	require.Equal(t, "BAYES", next())
	all := make([]*node, number())
	net := map[string]*node{}
	for i := range all {
		all[i] = &node{ID: "v" + strconv.Itoa(i), Parents: []string{}}
		for s := range number() {
			all[i].States = append(all[i].States, "s"+strconv.Itoa(s))
		}
		net[all[i].ID] = all[i]
	}
	scopes := make([][]int, number())
	require.Len(t, scopes, len(all))
	for i := range scopes {
		for range number() {
			scopes[i] = append(scopes[i], number())
		}
	}
	for _, scope := range scopes {
		n, parents := all[scope[len(scope)-1]], scope[:len(scope)-1]
		rows := 1
		for _, p := range parents {
			n.Parents = append(n.Parents, all[p].ID)
			rows *= len(all[p].States)
		}
		require.Equal(t, rows*len(n.States), number())
		var table []when
		for r := range rows {
			w := when{When: map[string]string{}, Then: row{}}
			for j, left := len(parents)-1, r; j >= 0; j-- {
				states := all[parents[j]].States
				w.When[all[parents[j]].ID] = states[left%len(states)]
				left /= len(states)
			}
			for _, s := range n.States {
				p, err := strconv.ParseFloat(next(), 64)
				require.NoError(t, err)
				w.Then[s] = p
			}
			table = append(table, w)
		}
		n.CPT = table
		if len(parents) == 0 {
			n.CPT = table[0].Then
		}
	}
	require.Empty(t, words)
	return net
}

// Source: bayesjs 0.6.5 (npm), exact inference by the junction tree algorithm; the forms are read
// back by readers of their own, written from the formats' grammars.
func TestAGeneralLibraryFindsTheSamePosteriors(t *testing.T) {
	dir := os.Getenv("PITWISE_NPM")
	if dir == "" {
		dir = filepath.Join("..", "..", "testdata", "npm")
	}
	if _, err := os.Stat(filepath.Join(dir, "node_modules", "bayesjs")); err != nil {
		require.Empty(t, os.Getenv("PITWISE_NPM"), "bayesjs is not installed: run npm ci --ignore-scripts in %s", dir)
		t.Skip("bayesjs is not installed and PITWISE_NPM is not set; go run ./cmd/dev test runs this check")
	}
	var models []*model.Model
	cut := 0
	for seed := range uint64(24) {
		rng := rand.New(rand.NewPCG(seed, 77))
		m, err := model.Load(random.Model(rng, random.Size{Components: 4, Modes: 2, Tests: 3, Outcomes: 3, Setups: 1, Exact: seed%2 == 0, MostFaults: int(seed % 4)}))
		require.NoError(t, err)
		if m.MostFaults < len(m.Components) {
			cut++
		}
		models = append(models, m)
	}
	// The shipped ones fit a general library with one fault at a time.
	for _, id := range []string{"top-loader", "tray", "slot-in"} {
		m, err := catalog.Load(id)
		require.NoError(t, err)
		one := *m
		one.MostFaults = 1
		models = append(models, &one)
	}
	var cases []inference
	var want [][]float64
	for seed, m := range models {
		rng := rand.New(rand.NewPCG(uint64(seed), 78))
		s, err := belief.NewSpace(m)
		require.NoError(t, err)
		single := m.MostFaults == 1
		var tests, seen []int
		b := s.Prior()
		for _, i := range rng.Perm(len(m.Tests))[:min(len(m.Tests), 6)] {
			o := rng.IntN(len(m.Tests[i].Outcomes))
			tests, seen = append(tests, i), append(seen, o)
			require.NoError(t, b.Observe(i, belief.Named(&m.Tests[i], o)))
		}
		var nets []*network.Network
		if len(m.Components) <= 4 {
			nets = append(nets, network.Full(m, tests))
		}
		if single {
			nets = append(nets, network.Single(m, tests))
		}
		for _, n := range nets {
			byName := inference{Network: readBIF(t, n.BIF()), Evidence: map[string]string{}}
			byNumber := inference{Network: readUAI(t, n.UAI()), Evidence: map[string]string{}}
			observe := func(v, state int) {
				byName.Evidence[n.Variables[v].Name] = n.Variables[v].States[state]
				byNumber.Evidence["v"+strconv.Itoa(v)] = "s" + strconv.Itoa(state)
			}
			ask := func(v, state int) {
				byName.Queries = append(byName.Queries, [2]string{n.Variables[v].Name, n.Variables[v].States[state]})
				byNumber.Queries = append(byNumber.Queries, [2]string{"v" + strconv.Itoa(v), "s" + strconv.Itoa(state)})
			}
			for i, test := range tests {
				v := n.Find("", m.Tests[test].ID)
				require.GreaterOrEqual(t, v, 0)
				observe(v, seen[i])
			}
			for i := range m.Modes {
				c := &m.Components[m.Modes[i].Component]
				if v := n.Find(c.ID, ""); v >= 0 {
					ask(v, 1+i-c.FirstMode)
				} else {
					ask(0, 1+i) // the one variable of a single fault
				}
			}
			cases = append(cases, byName, byNumber)
			want = append(want, b.Modes(nil), b.Modes(nil))
		}
	}
	require.Greater(t, cut, 8, "models whose combinations are cut")
	input, err := json.Marshal(cases)
	require.NoError(t, err)
	run := exec.Command("node", "infer.cjs")
	run.Dir, run.Stdin = dir, bytes.NewReader(input)
	var said bytes.Buffer
	run.Stderr = &said
	output, err := run.Output()
	require.NoError(t, err, said.String())
	var answers [][]float64
	require.NoError(t, json.Unmarshal(output, &answers))
	require.Len(t, answers, len(want))
	worst, compared := 0.0, 0
	for i := range want {
		require.Len(t, answers[i], len(want[i]))
		for f, p := range want[i] {
			assert.InEpsilon(t, p, answers[i][f], 1e-9, "network %d, mode %d", i, f)
			worst, compared = max(worst, math.Abs(answers[i][f]/p-1)), compared+1
		}
	}
	t.Logf("%d networks, %d posteriors, worst relative difference %.1e", len(want), compared, worst)
}

func TestEveryTableIsADistribution(t *testing.T) {
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 78))
		m, err := model.Load(random.Model(rng, random.Size{Components: 7, Modes: 3, Tests: 6, Outcomes: 5, Setups: 2, Extreme: seed%2 == 0}))
		require.NoError(t, err)
		var tests []int
		for i := range m.Tests {
			tests = append(tests, i)
		}
		for _, n := range []*network.Network{network.Full(m, tests), network.Single(m, tests)} {
			names := map[string]bool{}
			for i := range n.Variables {
				v := &n.Variables[i]
				require.False(t, names[v.Name], "two variables called %s", v.Name)
				names[v.Name] = true
				rows := 1
				for _, p := range v.Parents {
					require.Less(t, p, i)
					rows *= len(n.Variables[p].States)
				}
				require.Len(t, v.Table, rows*len(v.States), v.Name)
				for r := range rows {
					sum := 0.0
					for _, x := range v.Table[r*len(v.States) : (r+1)*len(v.States)] {
						require.GreaterOrEqual(t, x, 0.0, v.Name)
						sum += x
					}
					require.InDelta(t, 1, sum, 1e-8, "%s row %d", v.Name, r)
				}
			}
		}
	}
}
