package state

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
	"pitwise/engine/worth"
)

func shipped(t *testing.T, id string) *model.Model {
	t.Helper()
	m, err := catalog.Load(id)
	require.NoError(t, err)
	return m
}

// TestANumberOfOnesOwnNeedsAReason: it is asked for, typed, and put into the model only with a share that can
// be and a reason; then the model is read again, and picked for the next unit of that kind.
func TestANumberOfOnesOwnNeedsAReason(t *testing.T) {
	m := shipped(t, "tray")
	s := State{Ready: true, Lang: "en", Models: catalog.Heads(), Route: ParseRoute("/figures/tray")}
	s, effects := Update(s, OwnRead{})
	assert.Equal(t, []Effect{ReadFigures{"tray", "tray"}, ShowTop{}}, effects)
	s, _ = Update(s, FiguresRead{Model: "slot-in", Now: m, Shipped: m})
	assert.Nil(t, s.Figures.Now, "an answer to what is no longer asked changes nothing")
	s, _ = Update(s, FiguresRead{Model: "tray", Now: m, Shipped: m})
	assert.Same(t, m, s.Figures.Now)
	assert.Empty(t, s.Figures.SHA256)
	_, effects = Update(s, OwnRead{})
	assert.Empty(t, effects, "it is read")

	f := learn.Figure{Kind: learn.Prior, Mode: m.Modes[0].ID}
	s, _ = Update(s, EditFigure{f})
	for _, typed := range []string{"", "0", "100", "x", "-3"} {
		s, _ = Update(s, SetFigure{typed})
		s, _ = Update(s, SetReason{"counted"})
		_, effects = Update(s, KeepFigure{})
		assert.Empty(t, effects, "%q", typed)
	}
	s, _ = Update(s, SetFigure{"12.5"})
	s, _ = Update(s, SetReason{"  "})
	_, effects = Update(s, KeepFigure{})
	assert.Empty(t, effects, "without a reason")
	s, _ = Update(s, SetReason{" counted "})
	s, effects = Update(s, KeepFigure{})
	want := f
	want.P = 0.125
	assert.Equal(t, []Effect{Override{"tray", m, learn.Own{Figure: want, Reason: "counted"}}}, effects)
	_, effects = Update(s, KeepFigure{})
	assert.Empty(t, effects, "a second tap asks for nothing twice")
	refused, _ := Update(s, FigureKept{Model: "tray", Wrong: "no row has it"})
	assert.Equal(t, "no row has it", refused.Figures.Wrong)
	assert.NotNil(t, refused.Figures.Edit)
	own := OwnModel{ID: "tray", SHA256: "b", Mine: true, Added: "2026-01-02T00:00:00Z"}
	s, effects = Update(s, FigureKept{Model: "tray", Own: []OwnModel{own}})
	assert.Contains(t, effects, Effect(ReadFigures{"tray", "b"}))
	assert.Equal(t, "b", s.Draft.ModelID)
	assert.Nil(t, s.Figures.Edit)
	mine := *m
	mine.SHA256 = "b"
	s, _ = Update(s, FiguresRead{Model: "tray", Now: &mine, Shipped: m})
	assert.Equal(t, "b", s.Figures.SHA256)
	s, effects = Update(s, OwnRead{})
	assert.Contains(t, effects, Effect(ReadFigures{"tray", "tray"}), "gone back")
	assert.NotEqual(t, "b", s.Draft.ModelID)
}

func TestTheLastOfOnesOwnNumbersIsInUse(t *testing.T) {
	s := State{Own: []OwnModel{{ID: "tray", SHA256: "a", Learnt: true, Added: "2026-01-02T00:00:00Z"}, {ID: "tray", SHA256: "b", Mine: true, Added: "2026-01-03T00:00:00Z"},
		{ID: "tray", SHA256: "c", Added: "2026-01-04T00:00:00Z"}}}
	m, ok := s.InUse("tray")
	assert.True(t, ok)
	assert.Equal(t, "b", m.SHA256, "a stranger's model is not the bench's own numbers")
	_, ok = s.InUse("slot-in")
	assert.False(t, ok)
}

// TestToolsAreWeighedUntilOneStops: answers of an older asking are dropped, what was found stays, and to leave
// the screen is to stop.
func TestToolsAreWeighedUntilOneStops(t *testing.T) {
	m := shipped(t, "tray")
	s := State{Ready: true, Lang: "de", Route: Route{Screen: ScreenWorth}, Remembered: trail.Terms{Currency: "USD", MinuteValue: 0.5, Tools: []model.ToolID{m.Tools[1].ID, "telescope"}}}
	s, effects := Update(s, WeighTools{Model: "tray"})
	require.Len(t, effects, 1)
	terms := effects[0].(Weigh).Terms(m)
	assert.Equal(t, []model.ToolID{"their-disc", m.Tools[1].ID}, terms.Tools, "and what the owner is asked for")
	assert.Equal(t, 0.5, terms.MinuteValue)
	assert.Equal(t, m.Currency != "USD" && m.Currency != "", terms.Exchange > 0, "in the model's money")
	s, _ = Update(s, WeighingWith{Turn: 1, Base: m, Terms: terms})
	s, _ = Update(s, Weighed{Turn: 1, Done: 3, All: 40})
	assert.True(t, s.Weighing.Busy)
	assert.Zero(t, s.Weighing.Units)
	s, _ = Update(s, Weighed{Turn: 1, Done: 40, All: 40, Units: 20, Tools: []worth.Tool{{ID: "x", Saves: 2}}})
	s, _ = Update(s, Weighed{Turn: 1, Done: 1, All: 40})
	assert.Equal(t, 20, s.Weighing.Units, "what was found stays")
	assert.Len(t, s.Weighing.Tools, 1)
	stopped, effects := Update(s, StopWeighing{})
	assert.Equal(t, []Effect{Rest{}}, effects)
	late, _ := Update(stopped, Weighed{Turn: 1, Done: 2, All: 40, Units: 40})
	assert.Equal(t, 20, late.Weighing.Units)
	gone, effects := Update(s, Navigated{"/"})
	assert.False(t, gone.Weighing.Busy)
	assert.Contains(t, effects, Effect(Rest{}))
	failed, _ := Update(s, Weighed{Turn: 1, Failed: true})
	assert.True(t, failed.Weighing.Failed)
	assert.False(t, failed.Weighing.Busy)
}

func TestHowOftenItWasRightIsShown(t *testing.T) {
	s := State{Ready: true, Route: Route{Screen: ScreenNumbers}}
	s, effects := Update(s, JudgeUnits{Model: "tray"})
	assert.Equal(t, []Effect{Judge{Model: "tray"}}, effects)
	assert.True(t, s.Learning.Judging)
	s, _ = Update(s, Judged{Model: "tray", Trial: &learn.Trial{Units: 41}})
	assert.False(t, s.Learning.Busy)
	assert.Equal(t, 41, s.Learning.Trial.Units)
	stopped, effects := Update(State{Learning: Learning{Model: "tray", Busy: true, Judging: true}}, LeaveLearnt{})
	assert.Equal(t, []Effect{StopLearning{}}, effects)
	assert.Equal(t, Learning{}, stopped.Learning)
}
