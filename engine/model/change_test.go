package model_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/engine/model"
)

func TestAChangeTakesAwayBeforeItBringsIn(t *testing.T) {
	c := model.Change{
		Fixes: []model.Chance{{Mode: 1, P: 0.9}, {Mode: 4, P: 0.5}},
		Risks: []model.Chance{{Mode: 0, P: 0.01}, {Mode: 4, P: 0.02}},
	}
	forward := []model.Transition{
		{Chance: model.Chance{Mode: 1, P: 0.9}}, {Chance: model.Chance{Mode: 4, P: 0.5}},
		{Chance: model.Chance{Mode: 0, P: 0.01}, Enters: true}, {Chance: model.Chance{Mode: 4, P: 0.02}, Enters: true},
	}
	assert.Equal(t, forward, slices.Collect(c.Transitions()))
	slices.Reverse(forward)
	assert.Equal(t, forward, slices.Collect(c.Backwards()))
	for x := range c.Transitions() {
		assert.Equal(t, 1, x.Mode, "a walk can be left")
		break
	}
	for x := range c.Backwards() {
		assert.True(t, x.Enters)
		break
	}
	assert.False(t, c.Nothing())
	assert.True(t, model.Change{}.Nothing())
}
