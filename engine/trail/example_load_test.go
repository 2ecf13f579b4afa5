package trail_test

import (
	"fmt"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A mistake is taken back by an event, never by removing one.
func ExampleTrail_Live() {
	t := &trail.Trail{Events: []trail.Event{
		{N: 1, Kind: trail.Result, Test: "boot", Outcome: "asks"},
		{N: 2, Kind: trail.Void, Of: 1, Reason: "the lid was open"},
		{N: 3, Kind: trail.Void, Of: 2, Reason: "no, it was shut"},
	}}
	fmt.Println(t.Live())
	// Output:
	// [true false true]
}

// A trail file holds one event a line, and loads as the trail that was encoded.
func ExampleTrail_Encode() {
	reading := 4.74
	t := &trail.Trail{
		ID: "a1", Created: "2026-03-04T10:11:12Z",
		Model: trail.ModelRef{ID: "small", Revision: "1", SHA256: "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"},
		Unit:  trail.Unit{Label: "Grey top-loader, shelf 3"},
		Terms: trail.Terms{MinuteValue: 0.5, Currency: "EUR", Tools: []model.ToolID{"multimeter"}, WorkingValue: 60, AsIsValue: 10, ComebackCost: 40},
		Events: []trail.Event{
			{N: 1, At: "2026-03-04T10:12:00Z", Kind: trail.Result, Test: "rail", Reading: &reading},
			{N: 2, At: "2026-03-04T10:13:00Z", Kind: trail.Note, Text: "two lines\nof note"},
		},
	}
	fmt.Print(string(t.Encode()))
	_, err := trail.Load(t.Encode())
	fmt.Println(err)
	// Output:
	// {
	//   "format": "pitwise/trail", "version": 1, "id": "a1", "created": "2026-03-04T10:11:12Z",
	//   "model": {"id": "small", "revision": "1", "sha256": "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"},
	//   "unit": {"label": "Grey top-loader, shelf 3", "notes": ""},
	//   "terms": {"minute_value": 0.5, "currency": "EUR", "tools": ["multimeter"],
	//     "working_value": 60, "as_is_value": 10, "comeback_cost": 40},
	//   "events": [
	//     {"n": 1, "at": "2026-03-04T10:12:00Z", "kind": "result", "test": "rail", "reading": 4.74},
	//     {"n": 2, "at": "2026-03-04T10:13:00Z", "kind": "note", "text": "two lines\nof note"}
	//   ]
	// }
	// <nil>
}
