package state

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/engine/learn"
)

// counted are counts of benches with so many units each.
func counted(model, sha256 string, units ...int) learn.Counts {
	c := learn.Counts{Model: model, SHA256: sha256}
	for i, n := range units {
		c.Benches = append(c.Benches, learn.Bench{ID: string(rune('a' + i)), Units: n})
	}
	return c
}

// TestABenchIsTakenOutAndBroughtBack: the line keeps its place, and only the storage's answer moves it.
func TestABenchIsTakenOutAndBroughtBack(t *testing.T) {
	s := State{Ready: true, Bench: " b ", Route: Route{Screen: ScreenNumbers}}
	s, _ = Update(s, LentRead{"tray", []Lent{{Counts: counted("tray", "1", 7, 8, 9)}, {Counts: counted("tray", "0", 3), Stale: true}}})
	s, _ = Update(s, LentRead{"slot-in", []Lent{{Counts: counted("slot-in", "5", 1)}}})
	want := []Lender{{"a", 7, "1", false, false, false}, {"b", 8, "1", false, true, false}, {"c", 9, "1", false, false, false}, {"a", 3, "0", true, false, false}}
	assert.Equal(t, want, s.Lenders("tray"))

	drop := DropBench{"tray", "1", "a"}
	asked, effects := Update(s, drop)
	assert.Equal(t, []Effect{drop}, effects)
	assert.Equal(t, want, asked.Lenders("tray"), "it is held until the storage says otherwise")
	again, effects := Update(asked, drop)
	assert.Equal(t, []Effect{drop}, effects, "the storage did not take it: once more")
	rest := counted("tray", "1", 7, 8, 9)
	rest.Benches = rest.Benches[1:]
	out, _ := Update(again, LentRead{"tray", []Lent{{Counts: rest}, {Counts: counted("tray", "0", 3), Stale: true}}})
	want[0].Out = true
	assert.Equal(t, want, out.Lenders("tray"))
	_, effects = Update(out, drop)
	assert.Empty(t, effects, "it is out")

	_, effects = Update(out, RestoreBench{"tray", "1", "a"})
	assert.Equal(t, []Effect{Lend{counted("tray", "1", 7)}}, effects, "what was taken out comes back, and no more")
	_, effects = Update(out, RestoreBench{"tray", "1", "c"})
	assert.Empty(t, effects, "it is not out")

	left, effects := Update(out, Navigated{Path: "/numbers"})
	assert.Contains(t, effects, ReadLent{})
	assert.Len(t, left.Lenders("tray"), 3)
}

// TestCountsAreGivenUnderAName: the name is asked for where there is none, and kept.
func TestCountsAreGivenUnderAName(t *testing.T) {
	s := State{Ready: true, Route: Route{Screen: ScreenNumbers}}
	s, effects := Update(s, GiveCounts{Model: "tray"})
	assert.Empty(t, effects)
	assert.True(t, s.Learning.Giving && !s.Learning.Busy, "the name is asked for")
	_, effects = Update(s, CountUnits{})
	assert.Empty(t, effects, "without a name nothing is counted")
	s, effects = Update(s, SetBench{Text: " \u202e "})
	assert.Equal(t, []Effect{KeepSetting{"bench", " \u202e "}}, effects)
	_, effects = Update(s, CountUnits{})
	assert.Empty(t, effects, "nor under one that nobody sees")
	s, _ = Update(s, SetBench{Text: "Shed "})
	s, effects = Update(s, CountUnits{})
	assert.Equal(t, []Effect{CountFor{"tray", "Shed"}}, effects)
	_, effects = Update(s, CountUnits{})
	assert.Empty(t, effects, "twice is once")
	_, effects = Update(s, TakeCounts{Way: WaySave})
	assert.Empty(t, effects, "there is nothing to give yet")

	c := counted("tray", "1", 7)
	other, _ := Update(s, Counted{Model: "slot-in", Counts: c})
	assert.Nil(t, other.Learning.Give, "an answer to what is no longer asked")
	s, _ = Update(s, Counted{Model: "tray", Counts: c})
	_, effects = Update(s, TakeCounts{Way: WayShare})
	assert.Equal(t, []Effect{TakeCounts{WayShare, "Shed", c}}, effects)
	came, effects := Update(s, BenchNamed{Text: "Pier"})
	assert.Equal(t, "Shed ", came.Bench, "what was typed stays")
	assert.Empty(t, effects)
	came, effects = Update(State{Ready: true}, BenchNamed{Text: "Pier"})
	assert.Equal(t, "Pier", came.Bench)
	assert.Empty(t, effects, "it is kept already")
	renamed, _ := Update(s, NameBench{})
	assert.True(t, renamed.Learning.Giving && renamed.Learning.Give == nil)
	s, _ = Update(s, LeaveLearnt{})
	assert.Equal(t, Learning{}, s.Learning)

	s, _ = Update(s, LearnFrom{Model: "slot-in"})
	s, effects = Update(s, GiveCounts{Model: "tray"})
	assert.Equal(t, []Effect{StopLearning{}, CountFor{"tray", "Shed"}}, effects, "it has a name, and learning ends")
	_, effects = Update(s, LeaveLearnt{})
	assert.Equal(t, []Effect{StopLearning{}}, effects)
}

func TestReadingCountsInLeadsToWhereTheyAre(t *testing.T) {
	held := []Lent{{Counts: counted("tray", "1", 7)}}
	s := State{Ready: true, Reading: true}
	s, effects := Update(s, Imported{Counts: &TakenCounts{1, LentRead{"tray", held}}})
	assert.False(t, s.Reading)
	assert.Equal(t, NoticeLent, s.Notice.Kind)
	assert.Equal(t, held, s.Lending.Held)
	assert.Contains(t, effects, GoTo{"/numbers"})
	s.Route.Screen = ScreenNumbers
	s, effects = Update(s, Imported{Same: true, Counts: &TakenCounts{1, LentRead{"tray", held}}})
	assert.Equal(t, NoticeSame, s.Notice.Kind)
	assert.Equal(t, []Effect{DismissLater{s.Notice.Serial}}, effects)
	s, _ = Update(s, Imported{Bench: true, Lent: 3})
	assert.Equal(t, NoticeLent, s.Notice.Kind)
	assert.Equal(t, 3, s.Notice.N)
}
