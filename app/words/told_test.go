package words_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/words"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func TestWhatNewTermsChanged(t *testing.T) {
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	first := trail.Terms{Currency: "EUR", MinuteValue: 0.25, WorkingValue: 80, Tools: []model.ToolID{"multimeter"}}
	belts, dear, yen := first, first, first
	belts.Tools = []model.ToolID{"belts", "alcohol"}
	dear.WorkingValue = 120
	yen.Currency, yen.MinuteValue, yen.WorkingValue = "JPY", 25, 8000
	tr := &trail.Trail{Terms: first, Events: []trail.Event{
		{N: 1, Kind: trail.NewTerms, Terms: &belts}, {N: 2, Kind: trail.Void, Of: 1}, {N: 3, Kind: trail.NewTerms, Terms: &dear}, {N: 4, Kind: trail.NewTerms, Terms: &yen}}}
	w := words.In("en")
	for i, want := range map[int]string{
		0: "Tools and terms changed: + Assorted belts; + Isopropyl alcohol and swabs; − Multimeter",
		2: "Tools and terms changed: The unit, working: €120.00", // what was taken back does not count
		3: "Tools and terms changed: A minute of your time: ¥25; The unit, working: ¥8,000; The unit as it is: ¥0; A comeback: ¥0",
	} {
		assert.Equal(t, want, w.Event(m, tr, tr.Events[i]))
	}
	same := &trail.Trail{Terms: first, Events: []trail.Event{{N: 1, Kind: trail.NewTerms, Terms: &first}}}
	assert.Equal(t, "Tools and terms changed", w.Event(nil, same, same.Events[0]))
}

func TestAQuestionHasItsMark(t *testing.T) {
	w := words.In("en")
	assert.Equal(t, "Motor supply: Low", w.Is("Motor supply", "Low"))
	assert.Equal(t, "What does it do? It ticks", w.Is("What does it do?", "It ticks"))
	assert.Equal(t, "何をしますか？ 動かない", words.In("ja").Is("何をしますか？", "動かない"))
}
