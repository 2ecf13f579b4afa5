package state

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/engine/learn"
)

func TestNumbersChangeOnAYesAlone(t *testing.T) {
	s := State{Ready: true, Route: Route{Screen: ScreenNumbers}}
	s, effects := Update(s, LearnFrom{Model: "tray"})
	assert.Equal(t, []Effect{Learn{Model: "tray"}}, effects)
	assert.True(t, s.Learning.Busy)

	s, _ = Update(s, LearnOn{Model: "tray", Done: 3, Units: 12})
	assert.Equal(t, 12, s.Learning.Units)
	other, effects := Update(s, Learnt{Model: "top-loader", Account: &learn.Account{}, Text: []byte("x")})
	assert.Equal(t, s, other, "an answer to what is no longer asked changes nothing")
	assert.Empty(t, effects)

	account := &learn.Account{Units: 12, Moved: []learn.Figure{{}}}
	shown, effects := Update(s, Learnt{Model: "tray", Account: account, Text: []byte("learnt")})
	assert.Equal(t, []Effect{ShowTop{}}, effects, "what would change is shown, nothing is stored")
	assert.False(t, shown.Learning.Busy)
	assert.Same(t, account, shown.Learning.Account)

	left, effects := Update(shown, LeaveLearnt{})
	assert.Equal(t, Learning{}, left.Learning)
	assert.Empty(t, effects)

	taken, effects := Update(shown, TakeLearnt{})
	assert.Equal(t, Learning{}, taken.Learning)
	assert.Equal(t, []Effect{ListModel{[]byte("learnt"), account.Moved}}, effects)
	_, effects = Update(taken, TakeLearnt{})
	assert.Empty(t, effects, "a second tap takes nothing twice")

	stopped, effects := Update(s, LeaveLearnt{})
	assert.Equal(t, []Effect{StopLearning{}}, effects)
	late, _ := Update(stopped, Learnt{Model: "tray", Account: account, Text: []byte("learnt")})
	assert.Nil(t, late.Learning.Account)

	failed, _ := Update(s, LearnFailed{Model: "tray", Trouble: LearnNone})
	assert.Equal(t, Learning{Model: "tray", Failed: LearnNone}, failed.Learning)
}

// TestGoingBackIsOneTap: the learnt model is on the list of own models, from which it is
// forgotten; units that were begun with it keep its text in the storage, as with any own model.
func TestGoingBackIsOneTap(t *testing.T) {
	s := State{Ready: true, Own: []OwnModel{
		{ID: "tray", SHA256: "b", Revision: "3+20.x", Learnt: true}, {ID: "tray", SHA256: "a", Revision: "mine"}, {ID: "slot-in", SHA256: "c", Learnt: true}}}
	learnt := s.LearntModels("tray")
	assert.Len(t, learnt, 1)
	_, effects := Update(s, ForgetModel{SHA256: learnt[0].SHA256})
	assert.Equal(t, []Effect{ForgetModel{SHA256: "b"}}, effects)
}
