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

func TestWhichToolsNewTermsBring(t *testing.T) {
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	first := trail.Terms{Currency: "EUR", MinuteValue: 0.25, WorkingValue: 80, Tools: []model.ToolID{"multimeter"}}
	belts, dear := first, first
	belts.Tools = []model.ToolID{"belts", "alcohol"}
	dear.WorkingValue = 120
	tr := &trail.Trail{Terms: first, Events: []trail.Event{
		{N: 1, Kind: trail.NewTerms, Terms: &belts}, {N: 2, Kind: trail.Void, Of: 1}, {N: 3, Kind: trail.NewTerms, Terms: &dear}}}
	w := words.In("en")
	for i, want := range map[int]string{
		0: "Tools and terms changed: + Assorted belts; + Isopropyl alcohol and swabs; − Multimeter",
		2: "Tools and terms changed", // what was taken back does not count
	} {
		assert.Equal(t, want, w.Event(m, tr, tr.Events[i]))
	}
	assert.Equal(t, "Tools and terms changed: + belts; + alcohol; − multimeter", w.Event(nil, tr, tr.Events[0]), "without its model by ids")
}

func TestAQuestionHasItsMark(t *testing.T) {
	w := words.In("en")
	assert.Equal(t, "Motor supply: Low", w.Is("Motor supply", "Low"))
	assert.Equal(t, "What does it do? It ticks", w.Is("What does it do?", "It ticks"))
	assert.Equal(t, "何をしますか？ 動かない", words.In("ja").Is("何をしますか？", "動かない"))
}
