package model

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDangersAreThoseOfBothEndsOfAWayAndOfTheWay(t *testing.T) {
	m := &Model{
		Cautions: []Caution{{ID: "worst"}, {ID: "second"}, {ID: "third"}, {ID: "least"}},
		Setups: []Setup{
			{Inside: -1},
			{Index: 1, Inside: 0, Depth: 1, Cautions: []CautionID{"third"}, Leave: Step{Cautions: []CautionID{"second"}}},
			{Index: 2, Inside: 0, Depth: 1, Enter: Step{Cautions: []CautionID{"least"}}},
		},
	}
	of := func(f func(d Dangers)) (ids []CautionID, worst int) {
		d := m.Dangers()
		f(d)
		for _, c := range d.Cautions() {
			ids = append(ids, c.ID)
		}
		return ids, d.Worst()
	}
	check := func(name string, f func(d Dangers), worst int, want ...CautionID) {
		t.Helper()
		ids, n := of(f)
		assert.Equal(t, want, ids, name)
		assert.Equal(t, worst, n, name)
	}
	check("nothing", func(Dangers) {}, 0)
	check("where it stands", func(d Dangers) { d.Way(1, 1) }, 2, "third")
	check("over the setup around both, the model's order", func(d Dangers) { d.Way(1, 2) }, 3, "second", "third", "least")
	check("back into it", func(d Dangers) { d.Way(2, 1) }, 2, "third")
	check("of a step", func(d Dangers) { d.Add([]CautionID{"least", "worst", "none such"}) }, 4, "worst", "least")
}
