package state_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/document"
)

var mine = state.OwnModel{ID: "mine", Title: "Mine", Revision: "1", SHA256: "aa", Added: "2026-03-04T10:11:12Z"}

func TestReadingAModelIn(t *testing.T) {
	s, effects := state.Update(ready(), state.PickImport{})
	assert.True(t, s.Reading)
	assert.Equal(t, []state.Effect{state.ReadIn{}}, effects)
	taken := state.Imported{Model: &state.TakenModel{Choice: "aa", Own: []state.OwnModel{mine}}}

	t.Run("from the bench it leads to intake, with the model picked", func(t *testing.T) {
		s, _ := state.Update(s, state.Navigated{Path: "/"})
		s, effects := state.Update(s, taken)
		assert.False(t, s.Reading)
		assert.Equal(t, []state.OwnModel{mine}, s.Own)
		assert.Contains(t, effects, state.GoTo{Path: "/new"})
		s, effects = state.Update(s, state.Navigated{Path: "/new"})
		assert.Contains(t, effects, state.LoadModel{ID: "aa"})
		assert.Contains(t, effects, state.ReadModels{})
		assert.Equal(t, state.NoticeModel, s.Notice.Kind)
	})
	t.Run("at intake what was typed stays, what belongs to the other model goes", func(t *testing.T) {
		s, _ := state.Update(s, state.Navigated{Path: "/new"})
		s, _ = state.Update(s, state.ModelLoaded{ID: "example", Model: example(t)})
		s, _ = state.Update(s, state.SetLabel{Text: "Grey one"})
		s, _ = state.Update(s, state.Answer{Test: "first-boot", Outcome: "asks"})
		s, effects := state.Update(s, taken)
		assert.Equal(t, state.LoadModel{ID: "aa"}, effects[0])
		assert.Equal(t, "Grey one", s.Draft.Label)
		assert.Empty(t, s.Draft.Answers)
		assert.Nil(t, s.Draft.Model)
		s, _ = state.Update(s, state.ModelLoaded{ID: "example", Model: example(t)})
		assert.Nil(t, s.Draft.Model, "the answer for the model that was picked before comes too late")
	})
	t.Run("of a backup that holds models alone their number is told", func(t *testing.T) {
		s, _ := state.Update(s, state.Imported{Bench: true, Listed: 2})
		assert.Equal(t, state.NoticeListed, s.Notice.Kind)
		assert.Equal(t, 2, s.Notice.N)
	})
	t.Run("no file was chosen", func(t *testing.T) {
		s, effects := state.Update(s, state.NothingPicked{})
		assert.False(t, s.Reading)
		assert.Empty(t, effects)
	})
}

func TestTakingAModelOffTheList(t *testing.T) {
	s, _ := state.Update(ready(), state.Navigated{Path: "/new"})
	s, _ = state.Update(s, state.OwnRead{Models: []state.OwnModel{mine}})
	s, _ = state.Update(s, state.PickModel{ID: "aa"})
	s, effects := state.Update(s, state.AskDrop{SHA256: "aa"})
	assert.Equal(t, "aa", s.Dropping)
	assert.Empty(t, effects, "it is asked first")

	away, _ := state.Update(s, state.Navigated{Path: "/"})
	assert.Empty(t, away.Dropping, "the question does not outlive the screen")

	s, effects = state.Update(s, state.ForgetModel{SHA256: "aa"})
	assert.Empty(t, s.Dropping)
	assert.Equal(t, []state.Effect{state.ForgetModel{SHA256: "aa"}}, effects)
	s, effects = state.Update(s, state.OwnRead{})
	assert.Equal(t, "example", s.Draft.ModelID, "a model that is gone is not begun with")
	assert.Equal(t, state.LoadModel{ID: "example"}, effects[0])
}

func TestARefusedFile(t *testing.T) {
	refused := state.ImportFailed{File: state.RefusedFile{File: "my\nmodel.json", More: 3, Defects: []state.Defect{
		{Defect: document.Defect{Place: "tests[0].healthy", Found: "row sums to 0.98, want 1", Line: 7, Column: 8}},
		{Defect: document.Defect{Place: "id", Found: "missing", Line: 2, Column: 3}, In: "model_text"},
		{Defect: document.Defect{Found: "the file was cut"}},
	}}}
	s, effects := state.Update(ready(), refused)
	require.NotNil(t, s.Refused)
	assert.Equal(t, 6, s.Refused.Count())
	assert.Equal(t, []state.Effect{state.ShowTop{}}, effects)
	const text = "my model.json:7:8: tests[0].healthy: row sums to 0.98, want 1\n" +
		"my model.json:model_text:2:3: id: missing\n" +
		"my model.json: the file was cut\n" +
		"my model.json: and 3 more\n"
	_, effects = state.Update(s, state.CopyDefects{})
	assert.Equal(t, []state.Effect{state.CopyText{Text: text}}, effects)

	for name, m := range map[string]state.Msg{
		"closing": state.CloseDefects{}, "going elsewhere": state.Navigated{Path: "/settings"},
	} {
		t.Run(name+" takes it off the screen, with its notice", func(t *testing.T) {
			s, _ := state.Update(s, m)
			assert.Nil(t, s.Refused)
			assert.Equal(t, state.NoNotice, s.Notice.Kind)
		})
	}
	t.Run("another notice stays", func(t *testing.T) {
		s, _ := state.Update(s, state.Taken{Way: state.WayCopy})
		s, _ = state.Update(s, state.CloseDefects{})
		assert.Equal(t, state.NoticeCopied, s.Notice.Kind)
	})
	t.Run("the next file takes its place", func(t *testing.T) {
		s, _ := state.Update(s, state.PickImport{})
		assert.Nil(t, s.Refused)
	})
	t.Run("of a backup that was read in partly the bench is read again", func(t *testing.T) {
		partly := refused
		partly.File.Partly = true
		_, effects := state.Update(ready(), partly)
		assert.Contains(t, effects, state.ReadBench{Lang: "en"})
	})
	t.Run("what is not about the file is a notice alone", func(t *testing.T) {
		s, _ := state.Update(ready(), state.ImportFailed{Detail: "storage full"})
		assert.Nil(t, s.Refused)
		assert.Equal(t, state.TroubleImport, s.Notice.Trouble)
		s, effects := state.Update(s, state.CopyDefects{})
		assert.Empty(t, effects)
		_, effects = state.Update(s, state.CloseDefects{})
		assert.Empty(t, effects)
	})
}

func TestOwnModelsAreInOrder(t *testing.T) {
	model := func(id, revision, added, sum string) state.OwnModel {
		return state.OwnModel{ID: id, Revision: revision, Added: added, SHA256: sum}
	}
	want := []state.OwnModel{
		model("late", "010", "2026-03-01", "7"), // ten
		model("late", "2", "2026-03-05", "4"),
		model("late", "1.10", "2026-03-02", "5"),
		model("late", "1.9", "2026-03-03", "6"),
		model("late", "1", "2026-03-02", "9"),
		model("late", "1", "2026-03-01", "8"),
		model("early", "99", "2026-03-04", "1"),
	}
	for shift := range want {
		got := append(append([]state.OwnModel{}, want[shift:]...), want[:shift]...)
		state.SortModels(got)
		assert.Equal(t, want, got)
	}
}
