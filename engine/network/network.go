package network

import (
	"slices"
	"strconv"

	"pitwise/engine/model"
)

// A Network is a Bayesian network: every variable stands after its parents.
type Network struct {
	Name      string
	Variables []Variable
}

// A Variable is one node with its table.
type Variable struct {
	Name    string // letters, digits and _, unique
	States  []string
	Parents []int // indices in Network.Variables, all before this one

	// Table holds P(state | parents), the last parent's state changing fastest but for the
	// variable's own: row r is Table[r*len(States):(r+1)*len(States)].
	Table []float64

	// Of what of the model this is: a component, a test, or neither.
	Component model.ComponentID
	Test      model.TestID
}

// rows returns the number of rows of v's table.
func (n *Network) rows(v *Variable) int {
	rows := 1
	for _, p := range v.Parents {
		rows *= len(n.Variables[p].States)
	}
	return rows
}

// Find returns the index of the variable that is a component or a test of that id, "" for
// neither; -1 if there is none.
func (n *Network) Find(c model.ComponentID, t model.TestID) int {
	return slices.IndexFunc(n.Variables, func(v Variable) bool { return v.Component == c && v.Test == t })
}

// add puts a variable at the end and returns its index.
func (n *Network) add(v Variable) int {
	n.Variables = append(n.Variables, v)
	return len(n.Variables) - 1
}

// Full returns the network of every combination of up to m.MostFaults faults, with the tests
// given by their indices.
func Full(m *model.Model, tests []int) *Network {
	n := &Network{Name: name(m.ID)}
	component := n.components(m)
	for _, t := range tests {
		n.chain(m, &m.Tests[t], component)
	}
	return n
}

// components adds the components and the count that holds them to MostFaults; it returns the
// variable of each component.
func (n *Network) components(m *model.Model) []int {
	most := min(m.MostFaults, len(m.Components))
	room := completions(m, most)
	count := -1 // the variable of the faults so far
	var of []int
	for i := range m.Components {
		c := &m.Components[i]
		prior := priors(m, c)
		v := Variable{Name: "component_" + name(string(c.ID)), States: states(m, c), Component: c.ID}
		before := 1 // how many counts there are
		if count >= 0 {
			v.Parents = []int{count}
			before = len(n.Variables[count].States)
		}
		for faults := range before {
			for s, p := range prior {
				v.Table = append(v.Table, p*room[i+1][faults+min(s, 1)]/room[i][faults])
			}
		}
		of = append(of, n.add(v))
		if i == len(m.Components)-1 {
			break
		}
		next := Variable{Name: "faults_to_" + name(string(c.ID)), Parents: []int{of[i]}}
		if count >= 0 {
			next.Parents = []int{count, of[i]}
		}
		after := min(i+1, most) + 1
		for k := range after {
			next.States = append(next.States, "n"+strconv.Itoa(k))
		}
		for faults := range before {
			for s := range prior {
				row := make([]float64, after)
				row[min(faults+min(s, 1), after-1)] = 1
				next.Table = append(next.Table, row...)
			}
		}
		count = n.add(next)
	}
	return of
}

// completions returns V: by component and faults so far, the probability that the components from
// there on do not bring them above most. Entries above most are 0.
func completions(m *model.Model, most int) [][]float64 {
	v := make([][]float64, len(m.Components)+1)
	for i := len(m.Components); i >= 0; i-- {
		v[i] = make([]float64, most+2)
		for faults := 0; faults <= most; faults++ {
			if i == len(m.Components) {
				v[i][faults] = 1
				continue
			}
			for s, p := range priors(m, &m.Components[i]) {
				v[i][faults] += float64(p * v[i+1][faults+min(s, 1)])
			}
		}
	}
	return v
}

// priors returns the probabilities of a component's states, sound first.
func priors(m *model.Model, c *model.Component) []float64 {
	p := []float64{1}
	for _, mode := range m.Modes[c.FirstMode : c.FirstMode+c.ModeCount] {
		p[0] -= mode.Prior
		p = append(p, mode.Prior)
	}
	return p
}

// states returns the names of a component's states, sound first.
func states(m *model.Model, c *model.Component) []string {
	s := []string{"sound"}
	for _, mode := range m.Modes[c.FirstMode : c.FirstMode+c.ModeCount] {
		s = append(s, "mode_"+name(string(mode.ID)[len(c.ID)+1:]))
	}
	return s
}

// chain adds a test: the healthy row, then the worst of that and what each component adds.
func (n *Network) chain(m *model.Model, t *model.Test, component []int) {
	outcomes := outcomes(t)
	var parts []int // the components that the test knows, in order
	for _, row := range t.Given {
		if c := m.Modes[row.Mode].Component; len(parts) == 0 || parts[len(parts)-1] != c {
			parts = append(parts, c)
		}
	}
	id := "test_" + name(string(t.ID))
	link := func(j int) Variable {
		v := Variable{Name: id, States: outcomes, Test: t.ID}
		if j < len(parts) {
			v.Name, v.Test = id+"_LINK_"+strconv.Itoa(j), ""
		}
		return v
	}
	v := link(0)
	v.Table = slices.Clone(t.Healthy)
	last := n.add(v)
	for j, c := range parts {
		v := link(j + 1)
		v.Parents = []int{last, component[c]}
		for before := range outcomes {
			for s := range m.Components[c].ModeCount + 1 {
				v.Table = append(v.Table, worse(t, before, m.Components[c].FirstMode+s-1, s == 0)...)
			}
		}
		last = n.add(v)
	}
}

// worse returns the odds of the worst of outcome before and one drawn with the cumulative
// probabilities Q_f/Q_h of a mode; before stays if the component is sound or the test does not
// know the mode.
func worse(t *model.Test, before, mode int, sound bool) []float64 {
	row := make([]float64, len(t.Healthy))
	i := slices.IndexFunc(t.Given, func(r model.Row) bool { return r.Mode == mode })
	if sound || i < 0 {
		row[before] = 1
		return row
	}
	// Ratios fall by no more than a model's tolerance: then what is between them is nothing.
	qh, qf, below := 0.0, 0.0, 0.0
	for k := range row {
		qh += t.Healthy[k]
		qf += t.Given[i].P[k]
		ratio := max(min(qf/qh, 1), below)
		if k == len(row)-1 {
			ratio = 1
		}
		if k >= before {
			row[k] = ratio - below
			below = ratio
		}
	}
	return row
}

// Single returns the network of one fault or none, with the tests given by their indices.
func Single(m *model.Model, tests []int) *Network {
	n := &Network{Name: name(m.ID)}
	fault := Variable{Name: "fault", States: []string{"sound"}, Table: []float64{1}}
	sum := 1.0
	for i := range m.Modes {
		c := &m.Components[m.Modes[i].Component]
		odds := m.Modes[i].Prior / priors(m, c)[0] // against all sound
		fault.States = append(fault.States, "mode_"+name(string(m.Modes[i].ID)))
		fault.Table = append(fault.Table, odds)
		sum += odds
	}
	for i := range fault.Table {
		fault.Table[i] /= sum
	}
	n.add(fault)
	for _, i := range tests {
		t := &m.Tests[i]
		v := Variable{Name: "test_" + name(string(t.ID)), States: outcomes(t), Parents: []int{0}, Test: t.ID}
		v.Table = append(v.Table, t.Healthy...)
		for mode := range m.Modes {
			row := t.Healthy
			if g := slices.IndexFunc(t.Given, func(r model.Row) bool { return r.Mode == mode }); g >= 0 {
				row = t.Given[g].P
			}
			v.Table = append(v.Table, row...)
		}
		n.add(v)
	}
	return n
}

// outcomes returns the names of a test's outcomes.
func outcomes(t *model.Test) []string {
	var s []string
	for _, o := range t.Outcomes {
		s = append(s, "seen_"+name(string(o.ID)))
	}
	return s
}

// name makes an id one word for every reader. Ids have no capitals, so none becomes another's.
func name(id string) string {
	var b []byte
	for _, c := range []byte(id) {
		switch c {
		case '-':
			b = append(b, '_')
		case '.':
			b = append(b, "_IS_"...)
		default:
			b = append(b, c)
		}
	}
	return string(b)
}
