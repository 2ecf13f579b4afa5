package moving

import (
	"fmt"
	"math/rand/v2"

	"pitwise/engine/catalog"
	"pitwise/engine/trail"
)

// Unit is a unit of so many events: results, repairs, setups and notes of the shipped top-loader, drawn by chance.
func Unit(events int) (*trail.Trail, error) {
	m, err := catalog.Load("top-loader")
	if err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(uint64(events), 5))
	tr := &trail.Trail{
		ID: "01JQ7Z8W3N5R6T9V2X4Y0ABCDE", Created: "2026-03-04T18:00:00Z",
		Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit:  trail.Unit{Label: "Grey one, shelf 3", Notes: "Starts late, then stops."},
		Terms: trail.Terms{MinuteValue: 0.25, Currency: "EUR", WorkingValue: 80, AsIsValue: 10, ComebackCost: 25},
	}
	for n := 1; n <= events; n++ {
		e := trail.Event{N: n, At: fmt.Sprintf("2026-03-04T%02d:%02d:%02dZ", 18+n/60, n%60, rng.IntN(60))}
		switch test := m.Tests[rng.IntN(len(m.Tests))]; {
		case n%9 == 0:
			e.Kind, e.Text = trail.Note, "Screw by the hinge was stripped, took another."
		case n%7 == 0:
			e.Kind, e.Repair = trail.Repair, m.Repairs[rng.IntN(len(m.Repairs))].ID
		case n%5 == 0:
			e.Kind, e.Setup = trail.Setup, m.Setups[rng.IntN(len(m.Setups))].ID
		default:
			e.Kind, e.Test, e.Outcome = trail.Result, test.ID, test.Outcomes[rng.IntN(len(test.Outcomes))].ID
		}
		tr.Events = append(tr.Events, e)
	}
	return tr, nil
}
