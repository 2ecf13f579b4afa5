package state

import (
	"slices"
	"strings"
)

// Habits is what a person opened and left open: it stays so from step to step and from unit to unit.
type Habits struct {
	How, Why, Cautions, More bool
	Far                      bool // the screen stands far away: large letters and targets
}

// A Habit names one of them.
type Habit string

const (
	HabitHow      Habit = "how"      // how to do a step
	HabitWhy      Habit = "why"      // why this step
	HabitCautions Habit = "cautions" // the cautions that were read
	HabitMore     Habit = "more"     // what else belongs to a step
	HabitFar      Habit = "far"
)

// SetHabit opens or closes it from now on.
type SetHabit struct {
	Habit Habit
	On    bool
}

// SettingHabits is the setting under which they are kept, names with spaces between.
const SettingHabits = "habits"

func (h *Habits) of(name Habit) *bool {
	switch name {
	case HabitHow:
		return &h.How
	case HabitWhy:
		return &h.Why
	case HabitCautions:
		return &h.Cautions
	case HabitMore:
		return &h.More
	case HabitFar:
		return &h.Far
	}
	return nil
}

var habits = []Habit{HabitHow, HabitWhy, HabitCautions, HabitMore, HabitFar}

// habitsOf reads what was kept; names that nobody knows are passed over.
func habitsOf(text string) Habits {
	var h Habits
	for _, name := range strings.Fields(text) {
		if on := h.of(Habit(name)); on != nil {
			*on = true
		}
	}
	return h
}

func (h Habits) String() string {
	var names []string
	for _, name := range habits {
		if *h.of(name) {
			names = append(names, string(name))
		}
	}
	return strings.Join(names, " ")
}

func setHabit(s State, m SetHabit) (State, []Effect) {
	if !slices.Contains(habits, m.Habit) {
		return s, nil
	}
	*s.Habits.of(m.Habit) = m.On
	return s, []Effect{KeepSetting{Key: SettingHabits, Value: s.Habits.String()}}
}
