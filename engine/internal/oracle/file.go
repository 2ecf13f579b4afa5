package oracle

import (
	"encoding/json"
	"fmt"
)

// Model is a model as its file has it.
type Model struct {
	ID         string `json:"id"`
	Revision   string `json:"revision"`
	MostFaults int    `json:"most_faults"`
	Setups     []struct {
		ID     string `json:"id"`
		Inside string `json:"inside"`
		Enter  change `json:"enter"`
		Leave  change `json:"leave"`
	} `json:"setups"`
	Components []struct {
		ID    string `json:"id"`
		Modes []struct {
			ID    string  `json:"id"`
			Prior float64 `json:"prior"`
		} `json:"modes"`
	} `json:"components"`
	Tests []*test `json:"tests"`

	Repairs []*repair `json:"repairs"`

	kept    []hypothesis
	index   map[string]int // of a hypothesis in kept, by key
	prior   []num          // w(S) of each kept hypothesis
	dropped num            // 1 - sum of w over the kept
	laws    map[string][][]num
	likes   map[string][]int
}

type change struct {
	Fixes map[string]float64 `json:"fixes"`
	Risks map[string]float64 `json:"risks"`
}

type repair struct {
	ID string `json:"id"`
	At string `json:"at"`
	change
	Steadiness float64 `json:"steadiness"`
	OnlyAfter  *struct {
		Any []struct {
			Test     string   `json:"test"`
			Outcomes []string `json:"outcomes"`
		} `json:"any"`
	} `json:"only_after"`
}

type test struct {
	ID      string `json:"id"`
	Told    bool   `json:"told"`
	At      string `json:"at"`
	Reading *struct {
		Percent  float64 `json:"percent"`
		Absolute float64 `json:"absolute"`
	} `json:"reading"`
	Outcomes []struct {
		ID   string   `json:"id"`
		From *float64 `json:"from"`
		To   *float64 `json:"to"`
	} `json:"outcomes"`
	Healthy    []float64            `json:"healthy"`
	Given      map[string][]float64 `json:"given"`
	Steadiness float64              `json:"steadiness"`

	read  map[float64][]num // the weights of what was read, each worked out once
	rises map[string][]num  // rising factorials, by what they begin with
}

type trail struct {
	Events []event `json:"events"`
}

type event struct {
	N       int      `json:"n"`
	Kind    string   `json:"kind"`
	Test    string   `json:"test"`
	Outcome string   `json:"outcome"`
	Reading *float64 `json:"reading"`
	Setup   string   `json:"setup"`
	Repair  string   `json:"repair"`
	Of      int      `json:"of"`
}

// Load reads a model, which must be valid, and lists its hypotheses.
func Load(text []byte) (*Model, error) {
	m := &Model{}
	if err := json.Unmarshal(text, m); err != nil {
		return nil, fmt.Errorf("oracle: model: %w", err)
	}
	m.list()
	return m, nil
}

func loadTrail(text []byte) (*trail, error) {
	t := &trail{}
	if err := json.Unmarshal(text, t); err != nil {
		return nil, fmt.Errorf("oracle: trail: %w", err)
	}
	return t, nil
}

func (m *Model) test(id string) *test {
	for _, t := range m.Tests {
		if t.ID == id {
			return t
		}
	}
	return nil
}

func (m *Model) repair(id string) *repair {
	for _, r := range m.Repairs {
		if r.ID == id {
			return r
		}
	}
	return nil
}

// modes lists every mode as it is written, in the order of the file.
func (m *Model) modes() []string {
	var out []string
	for _, c := range m.Components {
		for _, f := range c.Modes {
			out = append(out, c.ID+"."+f.ID)
		}
	}
	return out
}

func (m *Model) root() string {
	for _, s := range m.Setups {
		if s.Inside == "" {
			return s.ID
		}
	}
	return ""
}

// outward lists a setup and those it is inside of, innermost first.
func (m *Model) outward(id string) []string {
	var out []string
	for id != "" {
		out = append(out, id)
		for _, s := range m.Setups {
			if s.ID == id {
				id = s.Inside
				break
			}
		}
	}
	return out
}
