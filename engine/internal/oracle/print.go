package oracle

import (
	"bytes"
	"encoding/json"
)

// Print writes the account as JSON, one object a line: one line for the start, one for
// each event, and one for the whole.
func (a *Account) Print() ([]byte, error) {
	var out bytes.Buffer
	lines := json.NewEncoder(&out)
	for _, line := range a.Lines {
		if err := lines.Encode(line); err != nil {
			return nil, err
		}
	}
	err := lines.Encode(struct {
		Origin   Odds      `json:"origin"`
		Doubts   []Doubt   `json:"doubts"`
		Warnings []Warning `json:"warnings"`
	}{a.Origin, a.Doubts, a.Warnings})
	return out.Bytes(), err
}
