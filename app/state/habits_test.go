package state

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestHabitsAreKept(t *testing.T) {
	s, _ := Update(State{}, SetHabit{HabitWhy, true})
	s, effects := Update(s, SetHabit{HabitFar, true})
	assert.Equal(t, []Effect{KeepSetting{Key: "habits", Value: "why far"}}, effects)
	again, _ := Update(State{}, Started{Habits: "why nonsense far"})
	assert.Equal(t, s.Habits, again.Habits)
	s, effects = Update(s, SetHabit{HabitWhy, false})
	assert.Equal(t, []Effect{KeepSetting{Key: "habits", Value: "far"}}, effects)
	before := s
	s, effects = Update(s, SetHabit{"nonsense", true})
	assert.Equal(t, before, s)
	assert.Empty(t, effects)
}
