package random

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
)

// Length bounds a random trail.
type Length struct {
	Events int // number of events, exactly

	// Repeats is the most results that one test may have in all; 0 means no bound.
	Repeats int

	// Second lets in what version 2 of the format brought: other terms, waiting, an exchange.
	Second bool

	// Only names the kinds of events to draw from; nil means every kind.
	Only []string
}

type trail struct {
	Format  string   `json:"format"`
	Version int      `json:"version"`
	ID      string   `json:"id"`
	Created string   `json:"created"`
	Model   modelRef `json:"model"`
	Unit    unit     `json:"unit"`
	Terms   Terms    `json:"terms"`
	Events  []event  `json:"events"`
}

type modelRef struct {
	ID       string `json:"id"`
	Revision string `json:"revision"`
	SHA256   string `json:"sha256"`
}

type unit struct {
	Label string `json:"label"`
	Notes string `json:"notes"`
}

type event struct {
	N       int      `json:"n"`
	At      string   `json:"at"`
	Kind    string   `json:"kind"`
	Test    string   `json:"test,omitempty"`
	Outcome string   `json:"outcome,omitempty"`
	Reading *float64 `json:"reading,omitempty"`
	Setup   string   `json:"setup,omitempty"`
	Repair  string   `json:"repair,omitempty"`
	Of      int      `json:"of,omitempty"`
	Reason  string   `json:"reason,omitempty"`
	Text    string   `json:"text,omitempty"`
	As      string   `json:"as,omitempty"`
	Causes  []string `json:"causes,omitempty"`
	Terms   *Terms   `json:"terms,omitempty"`
	For     string   `json:"for,omitempty"`
}

// Trail returns the text of a valid trail under the model with the given text. It
// panics if that is not a model's text.
func Trail(rng *rand.Rand, modelText []byte, length Length) []byte {
	var m document
	if err := json.Unmarshal(modelText, &m); err != nil {
		panic(err)
	}
	sum := sha256.Sum256(modelText)
	t := trail{
		Format: "pitwise/trail", Version: 1, ID: fmt.Sprintf("random-%d", rng.IntN(1_000_000)),
		Created: "2026-03-04T10:11:12Z",
		Model:   modelRef{ID: m.ID, Revision: m.Revision, SHA256: hex.EncodeToString(sum[:])},
		Unit:    unit{Label: "A random unit"},
		Terms:   Terms{MinuteValue: 0.5, Currency: "EUR", Tools: []string{}, WorkingValue: 60, AsIsValue: 10, ComebackCost: 40},
		Events:  []event{},
	}
	kinds := length.Only
	if kinds == nil {
		kinds = []string{
			"result", "result", "result", "result", "result", "result", "result", "result", "result",
			"setup", "setup", "repair", "repair", "void", "void", "skip", "note", "end",
		}
	}
	if length.Second {
		t.Version = 2
		if rng.IntN(2) == 0 {
			t.Terms.Exchange = 0.5 + rng.Float64()
		}
		if length.Only == nil {
			kinds = append(kinds, "terms", "wait")
		}
	}
	results := map[string]int{}
	last := rng.IntN(len(m.Tests))
	for n := 1; n <= length.Events; n++ {
		e := event{N: n, At: fmt.Sprintf("2026-03-04T%02d:%02d:00Z", 11+n/60, n%60), Kind: kinds[rng.IntN(len(kinds))]}
		if e.Kind == "void" && n == 1 || e.Kind == "repair" && len(m.Repairs) == 0 {
			e.Kind = "note"
		}
		if e.Kind == "result" {
			if rng.IntN(3) > 0 {
				last = rng.IntN(len(m.Tests))
			}
			if length.Repeats > 0 && results[m.Tests[last].ID] >= length.Repeats {
				e.Kind = "note"
			}
		}
		switch e.Kind {
		case "result":
			test := m.Tests[last]
			results[test.ID]++
			e.Test = test.ID
			if test.Reading != nil && rng.IntN(5) > 0 {
				x := measure(rng, test)
				e.Reading = &x
			} else {
				e.Outcome = test.Outcomes[rng.IntN(len(test.Outcomes))].ID
			}
		case "setup":
			e.Setup = m.anySetup(rng)
		case "repair":
			e.Repair = m.Repairs[rng.IntN(len(m.Repairs))].ID
		case "skip":
			e.Test, e.Reason = m.Tests[rng.IntN(len(m.Tests))].ID, "no time"
		case "note":
			e.Text = "nothing"
		case "terms":
			other := t.Terms
			other.MinuteValue, other.Exchange = float64(rng.IntN(4))/4, 0
			e.Terms = &other
		case "wait":
			e.For = "a part"
		case "void":
			e.Of, e.Reason = 1+rng.IntN(n-1), "a slip"
			for back := n - 1; back > 0 && rng.IntN(2) == 0; back-- { // the last void is a likely target
				if t.Events[back-1].Kind == "void" {
					e.Of = back
					break
				}
			}
		case "end":
			e.As = []string{"signed-off", "written-off", "returned"}[rng.IntN(3)]
			c := m.Components[rng.IntN(len(m.Components))]
			e.Causes = []string{c.ID + "." + c.Modes[0].ID}
		}
		t.Events = append(t.Events, e)
	}
	text, err := json.MarshalIndent(t, "", "  ")
	if err != nil {
		panic(err)
	}
	return append(text, '\n')
}

// measure draws a reading near a border, within the meter's error or not, or far out.
func measure(rng *rand.Rand, t test) float64 {
	var borders []float64
	for _, o := range t.Outcomes {
		if o.From != nil {
			borders = append(borders, *o.From)
		}
	}
	x := borders[rng.IntN(len(borders))]
	u := (t.Reading.Percent/100*math.Abs(x) + t.Reading.Absolute) / math.Sqrt(3)
	if u == 0 {
		u = 0.01 * math.Abs(x)
	}
	switch rng.IntN(6) {
	case 0: // the border itself
	case 1:
		x += 20 * u * rng.NormFloat64()
	case 2:
		x += 300 * u * rng.NormFloat64()
	default:
		x += 2 * u * rng.NormFloat64()
	}
	return x
}
