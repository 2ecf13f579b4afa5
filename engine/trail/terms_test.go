package trail_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

const termsText = `{"minute_value": 0.5, "currency": "EUR", "tools": ["multimeter", "scope"],
 "working_value": 60, "as_is_value": 10, "comeback_cost": 40}`

func TestTermsAreReadFromAFileOfTheirOwn(t *testing.T) {
	terms, err := trail.LoadTerms([]byte(termsText))
	require.NoError(t, err)
	assert.Equal(t, trail.Terms{MinuteValue: 0.5, Currency: "EUR", Tools: []model.ToolID{"multimeter", "scope"},
		WorkingValue: 60, AsIsValue: 10, ComebackCost: 40}, terms)
}

func TestDefectsOfTermsAreAllListedWithTheirPlace(t *testing.T) {
	_, err := trail.LoadTerms([]byte(`{"minute_value": -1, "currency": "euro", "tools": ["a", "B"],
 "working_value": 60, "as_is_value": 1e999, "hourly": 30}`))
	require.ErrorIs(t, err, trail.ErrInvalid)
	var d trail.Defects
	require.ErrorAs(t, err, &d)
	var places []string
	for _, each := range d.List {
		places = append(places, each.Place)
	}
	assert.ElementsMatch(t, []string{"minute_value", "currency", "tools[1]", "as_is_value", "hourly", "comeback_cost"}, places)

	for _, other := range []string{"", "{", "[]", "7", "null", `{"format": "pitwise/trail", "terms": ` + termsText + `}`} {
		_, err := trail.LoadTerms([]byte(other))
		assert.ErrorIs(t, err, trail.ErrInvalid, other)
	}
}
