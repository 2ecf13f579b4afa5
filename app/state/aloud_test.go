package state_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/app/state"
	"pitwise/engine/model"
)

func TestReadingAloud(t *testing.T) {
	s := onUnit(t)
	s, effects := play(s, state.ReadAloud{Texts: []string{"Clean the lens"}})
	assert.Empty(t, effects, "no voice is known")
	s, _ = play(s, state.VoicesKnown{Langs: []string{"en", "de"}})
	assert.True(t, s.Speech.Can("en"))
	assert.False(t, s.Speech.Can("ja"))
	s, effects = play(s, state.ReadAloud{Texts: []string{"Mains inside", "Clean the lens"}})
	assert.Equal(t, []state.Effect{state.Speak{Lang: "en", Texts: []string{"Mains inside", "Clean the lens"}, Turn: 1}}, effects)
	assert.True(t, s.Speech.On)

	again, _ := play(s, state.ReadAloud{Texts: []string{"Clean the lens"}})
	late, _ := play(again, state.ReadOut{Turn: 1})
	assert.True(t, late.Speech.On, "what was read before is of no account")
	over, effects := play(again, state.ReadOut{Turn: 2})
	assert.False(t, over.Speech.On)
	assert.Empty(t, effects)

	for _, m := range []state.Msg{
		state.StopAloud{},
		state.Navigated{Path: "/unit/U1/trail"},
		state.OpenSheet{Sheet: state.SheetNote},
		state.Acknowledge{IDs: []model.CautionID{"mains"}},
		state.ChooseLang{Lang: "de"},
	} {
		next, effects := play(s, m)
		assert.False(t, next.Speech.On, "%T", m)
		assert.Contains(t, effects, state.Hush{}, "%T", m)
	}
	next, effects := play(s, state.SetHabit{Habit: state.HabitHow, On: true})
	assert.True(t, next.Speech.On, "one may look while it is read")
	assert.NotContains(t, effects, state.Hush{})
}
