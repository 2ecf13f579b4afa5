package runner_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// shelfPlayer is the text of the small model that the authors' page explains.
func shelfPlayer(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile("../../engine/catalog/authors/shelf-player.json")
	require.NoError(t, err)
	return string(text)
}

// changed replaces what must stand once in a text.
func changed(t testing.TB, text string, pairs ...string) string {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		require.Equal(t, 1, strings.Count(text, pairs[i]), pairs[i])
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	return text
}

func revision(t testing.TB, r string) string {
	return changed(t, shelfPlayer(t), `"revision": "1"`, `"revision": "`+r+`"`)
}

func listed(s state.State) []string {
	var all []string
	for _, m := range s.Own {
		all = append(all, m.ID+" "+m.Revision)
	}
	return all
}

// begin takes a unit in under the model that is picked.
func (b *bench) begin(label string) state.State {
	b.t.Helper()
	b.complain()
	b.send(state.SetLabel{Text: label})
	b.send(state.SetTool{ID: "multimeter", On: true})
	b.send(state.StartUnit{})
	return b.rested()
}

func TestAModelOfOnesOwn(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	s := b.readIn(shelfPlayer(t))
	require.Equal(t, state.NoticeModel, s.Notice.Kind)
	s = b.until("intake, with the model picked", func(s state.State) bool {
		return s.Route.Screen == state.ScreenIntake && s.Draft.Model != nil && s.Draft.Model.ID == "shelf-player"
	})
	require.Equal(t, []string{"shelf-player 1"}, listed(s))
	sum := s.Own[0].SHA256

	b.send(state.Navigated{Path: "/"})
	assert.Equal(t, state.NoticeModelSame, b.readIn(shelfPlayer(t)).Notice.Kind, "a second time adds nothing")
	s = b.begin("Green player")
	id := s.Unit.Trail.ID
	require.Equal(t, sum, s.Unit.Trail.Model.SHA256)
	b.tap(state.SawOutcome{Test: "start", Outcome: "asks"})
	s = b.tap(state.Repaired{ID: "clean-lens"})
	b.send(state.OpenSheet{Sheet: state.SheetSignOff})
	s = b.tap(state.ConfirmSheet{})
	want := s.Unit.Account

	t.Run("it replays to the numbers of the model's own text", func(t *testing.T) {
		m, err := model.Load([]byte(shelfPlayer(t)))
		require.NoError(t, err)
		space, err := belief.NewSpace(m)
		require.NoError(t, err)
		account, err := trail.Replay(space, s.Unit.Trail)
		require.NoError(t, err)
		require.Len(t, account.Lines, 5)
		for i, line := range account.Lines {
			assert.Equal(t, line.Odds, want.Lines[i].Odds)
		}
	})
	again := func(t *testing.T, storage *browser.Memory) {
		t.Helper()
		other := newBench(t, storage)
		other.send(state.Navigated{Path: "/unit/" + id})
		s := other.rested()
		require.NotNil(t, s.Unit.Model)
		assert.Equal(t, shelfPlayer(t), string(s.Unit.Model.Text))
		for i, line := range s.Unit.Account.Lines {
			assert.Equal(t, want.Lines[i].Odds, line.Odds)
		}
	}
	t.Run("the page started anew shows the unit by its address", func(t *testing.T) { again(t, b.storage) })
	t.Run("an export with its model gives the unit on another device", func(t *testing.T) {
		b.send(state.TakeAway{Form: state.FormTrailFull, Way: state.WaySave})
		b.handed(func() bool { return len(b.device.Saved) == 1 })
		other := newBench(t, browser.NewMemory())
		assert.Equal(t, state.NoticeImported, other.readIn(b.device.Saved[0].Text).Notice.Kind)
		again(t, other.storage)
	})
	t.Run("a backup gives the unit and the list", func(t *testing.T) {
		require.Equal(t, state.NoticeModel, b.readIn(revision(t, "2")).Notice.Kind)
		before := len(b.device.Saved)
		b.send(state.BackUp{Way: state.WaySave})
		b.handed(func() bool { return len(b.device.Saved) > before })
		file := b.device.Saved[before].Text
		other := newBench(t, browser.NewMemory())
		require.Equal(t, state.NoticeImported, other.readIn(file).Notice.Kind)
		again(t, other.storage)
		other.send(state.Navigated{Path: "/new"})
		other.until("the list is there", func(s state.State) bool { return len(s.Own) == 2 })
		assert.Equal(t, []string{"shelf-player 2", "shelf-player 1"}, listed(other.now()))
		assert.Equal(t, state.NoticeSame, other.readIn(file).Notice.Kind)
		refused := other.readIn(strings.Replace(file, sum+`"`+"\n  ]", strings.Repeat("0", 64)+`"`+"\n  ]", 1)).Refused
		require.NotNil(t, refused, "the digest is over the list too")
		assert.Contains(t, refused.Text(), "the file was changed or cut")
	})
	t.Run("off the list the unit keeps it", func(t *testing.T) {
		b.send(state.Navigated{Path: "/new"})
		for _, m := range b.until("both are listed", func(s state.State) bool { return len(s.Own) == 2 }).Own {
			b.send(state.ForgetModel{SHA256: m.SHA256})
		}
		b.until("the list is empty, and a shipped one is picked", func(s state.State) bool {
			return len(s.Own) == 0 && s.Draft.ModelID == s.Models[0].ID
		})
		b.runner.Settle()
		again(t, b.storage)
		two, err := model.Load([]byte(revision(t, "2")))
		require.NoError(t, err)
		_, err = b.storage.Model(two.SHA256)
		assert.ErrorIs(t, err, browser.ErrGone, "no unit has it")
	})
}

func TestTheNewestRevisionIsListedFirst(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	for _, r := range []string{"9", "10", "2026-03", "2026-11", "1.9", "1.10", "draft"} {
		require.Equal(t, state.NoticeModel, b.readIn(revision(t, r)).Notice.Kind)
	}
	s := b.now()
	assert.Equal(t, []string{"shelf-player draft", "shelf-player 2026-11", "shelf-player 2026-03", "shelf-player 10", "shelf-player 9",
		"shelf-player 1.10", "shelf-player 1.9"}, listed(s))
	assert.False(t, s.Apart(s.Own[0]))
	b.readIn(changed(t, revision(t, "10"), "Small player", "Little player"))
	s = b.now()
	require.Equal(t, "10", s.Own[3].Revision)
	require.Equal(t, "10", s.Own[4].Revision)
	assert.Equal(t, "Little player with a door and an outside adaptor", s.Own[3].Title, "of one revision the one that came last")
	assert.True(t, s.Apart(s.Own[3]) && s.Apart(s.Own[4]))

	for _, m := range []int{3, 6} { // not only the newest can be begun with
		want := s.Own[m].SHA256
		b.send(state.Navigated{Path: "/new"})
		b.send(state.PickModel{ID: want})
		b.until("it is loaded", func(s state.State) bool { return s.Draft.Model != nil && s.Draft.Model.SHA256 == want })
		got := b.begin("Unit")
		assert.Equal(t, want, got.Unit.Trail.Model.SHA256)
	}
}

func TestAShippedModelIsNotListedTwice(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	text, ok := catalog.Text("tray")
	require.True(t, ok)
	s := b.readIn(string(text))
	assert.Equal(t, state.NoticeModelSame, s.Notice.Kind)
	assert.Empty(t, s.Own)
	b.until("it is picked", func(s state.State) bool { return s.Draft.ModelID == "tray" && s.Draft.Model != nil })
}

func TestAModelThatTheStorageDoesNotTake(t *testing.T) {
	m := browser.NewMemory()
	b := newBench(t, m)
	m.Refuse(func(call string) error {
		if call == "keep-model" {
			return browser.ErrFull
		}
		return nil
	})
	s := b.readIn(shelfPlayer(t))
	assert.Equal(t, state.TroubleImport, s.Notice.Trouble)
	assert.Contains(t, s.Notice.Detail, "storage full")
	assert.Nil(t, s.Refused, "the file is not to blame")
	assert.Empty(t, s.Own)
	m.Refuse(nil)
	assert.Equal(t, state.NoticeModel, b.readIn(shelfPlayer(t)).Notice.Kind)
}

func TestAllDefectsOfARefusedFileAreShown(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	id := b.takeIn().Unit.Trail.ID
	b.send(state.TakeAway{Form: state.FormTrailFull, Way: state.WaySave})
	b.handed(func() bool { return len(b.device.Saved) == 1 })
	b.send(state.BackUp{Way: state.WaySave})
	b.handed(func() bool { return len(b.device.Saved) == 2 })
	whole := b.device.Saved[0].Text
	kept, _, err := b.storage.Unit(id)
	require.NoError(t, err)

	markup := `<img src=x onerror=alert(1)>`
	twice := changed(t, shelfPlayer(t), `"lens.dirty": [0.25, 0.65, 0.10]`, `"lens.dirty": [0.25, 0.65, 0.05]`,
		`"door.missed": [0.05, 0.03, 0.92]`, `"door.`+markup+`": [0.05, 0.03, 0.92]`)
	ended := fmt.Sprintf(`{"n": 2, "at": "2026-03-04T10:13:00Z", "kind": "end", "as": "signed-off", "causes": ["lens.gone", %q]}`, "door.none")
	for name, tc := range map[string]struct {
		text string
		want []string // in order; each is part of a line of the copied list
	}{
		"a model": {twice, []string{
			"file.json:40:8: tests[0].given[\"lens.dirty\"]: row sums to 0.95",
			"file.json:42:8: tests[0].given[\"door.<img src=x onerror=alert(1)>\"]",
		}},
		"an empty file":  {"", []string{"file.json: empty, want a JSON object"}},
		"a broken one":   {"{\n  \"format\": \"pitwise/model\",\n  nonsense", []string{"file.json:3:3: "}},
		"a cut backup":   {b.device.Saved[1].Text[:400], []string{"file.json:"}},
		"something else": {`{"format": "` + markup + `"}`, []string{"file.json:1:2: format: \"<img src=x onerror=alert(1)>\", want \"pitwise/model\", \"pitwise/trail\", \"pitwise/counts\" or \"pitwise/bench\""}},
		"a list":         {`[]`, []string{"want an object that is a model, a trail, counts or a bench"}},
		"a trail that does not fit its model": {
			strings.Replace(strings.Replace(whole, `"first-boot"`, `"last-boot"`, 1), `"multimeter"`, `"hammer"`, 1),
			[]string{`no tool has the id "hammer"`, `no test has the id "last-boot"`},
		},
		"a trail with causes that are none": {
			whole[:strings.LastIndex(whole, "}\n  ]")] + "},\n" + ended + whole[strings.LastIndex(whole, "}\n  ]")+1:],
			[]string{`no mode has the id "lens.gone"`, `no mode has the id "door.none"`},
		},
	} {
		t.Run(name, func(t *testing.T) {
			listedBefore, err := b.storage.Models()
			require.NoError(t, err)
			s := b.readIn(tc.text)
			require.NotNil(t, s.Refused)
			assert.Equal(t, state.TroubleImport, s.Notice.Trouble)
			assert.False(t, s.Refused.Partly)
			lines := strings.Split(strings.TrimSuffix(s.Refused.Text(), "\n"), "\n")
			require.Len(t, lines, s.Refused.Count())
			require.Len(t, lines, len(tc.want), "%s", lines)
			for i, part := range tc.want {
				assert.Contains(t, lines[i], part)
				assert.Equal(t, tc.text != "", s.Refused.Defects[i].Line > 0, "where it is, but in an empty file")
			}
			b.send(state.CopyDefects{})
			b.until("it is copied", func(s state.State) bool { return s.Notice.Kind == state.NoticeCopied })
			b.mu.Lock()
			assert.Equal(t, s.Refused.Text(), b.device.Copied[len(b.device.Copied)-1])
			b.mu.Unlock()
			b.send(state.CloseDefects{})
			assert.Nil(t, b.now().Refused)
			units, err := b.storage.Units()
			require.NoError(t, err)
			assert.Equal(t, []browser.UnitRecord{kept}, units, "nothing was stored")
			models, err := b.storage.Models()
			require.NoError(t, err)
			assert.Equal(t, listedBefore, models)
		})
	}
}

func TestALongListOfDefectsIsCut(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	s := b.readIn(`{"format": "pitwise/model", "tools": [` + strings.Repeat("{}, ", 2499) + `{}]}`)
	require.NotNil(t, s.Refused)
	assert.Len(t, s.Refused.Defects, 1000)
	assert.Greater(t, s.Refused.More, 1500)
	assert.True(t, strings.HasSuffix(s.Refused.Text(), fmt.Sprintf("file.json: and %d more\n", s.Refused.More)))
}

// TestABackupTellsOfEveryUnit: two units of three are wrong, and their defects are told
// with their lines in the whole file.
func TestABackupTellsOfEveryUnit(t *testing.T) {
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	unit := func(id, test string, model string) string {
		tr := &trail.Trail{ID: id, Created: "2026-03-04T10:11:12Z", Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
			Terms:     trail.Terms{Currency: "EUR"},
			ModelText: model,
			Events:    []trail.Event{{N: 1, At: "2026-03-04T10:12:00Z", Kind: trail.Skip, Test: "first-boot"}}}
		return strings.Replace(string(tr.Encode()), "first-boot", test, 1)
	}
	text, err := runner.Backup([]string{unit("A", "no-such", ""), unit("B", "first-boot", ""), unit("C", "neither", "")}, nil)
	require.NoError(t, err)
	b := newBench(t, browser.NewMemory())
	s := b.readIn(text)
	b.until("it is told", func(s state.State) bool { return s.Refused != nil })
	s = b.now()
	require.Len(t, s.Refused.Defects, 2)
	assert.True(t, s.Refused.Partly)
	lines := strings.Split(text, "\n")
	for i, want := range []string{"no-such", "neither"} {
		d := s.Refused.Defects[i]
		assert.Equal(t, fmt.Sprintf("units[%d].events[0].test", 2*i), d.Place)
		assert.Contains(t, lines[d.Line-1][d.Column-1:], `"test": "`+want)
	}
	s = b.until("the bench has the unit that is well", func(s state.State) bool { return len(s.Cards) == 1 })
	assert.Equal(t, "B", s.Cards[0].ID)
	assert.NotNil(t, s.Refused, "the list stays until it is closed")

	t.Run("a model inside that is wrong is told by its own lines", func(t *testing.T) {
		text, err := runner.Backup(nil, map[string]string{"x": changed(t, shelfPlayer(t), `"most_faults": 2`, `"most_faults": 9`)})
		require.NoError(t, err)
		s := b.readIn(text)
		require.NotNil(t, s.Refused)
		require.Len(t, s.Refused.Defects, 1)
		assert.Equal(t, `models["x"]`, s.Refused.Defects[0].In)
		assert.Equal(t, 4, s.Refused.Defects[0].Line)
	})
}

func TestATrailThatTheStorageDoesNotTake(t *testing.T) {
	m := browser.NewMemory()
	b := newBench(t, m)
	m.Refuse(func(call string) error {
		if call == "add" {
			return browser.ErrFull
		}
		return nil
	})
	tr := &trail.Trail{ID: "A", Created: "2026-03-04T10:11:12Z", Model: trail.ModelRef{ID: "x", Revision: "1", SHA256: strings.Repeat("0", 64)},
		Terms: trail.Terms{Currency: "EUR"}, Events: []trail.Event{{N: 1, At: "2026-03-04T10:12:00Z", Kind: trail.Note, Text: "a"}}}
	s := b.readIn(string(tr.Encode()))
	assert.Equal(t, state.TroubleImport, s.Notice.Trouble)
	assert.Nil(t, s.Refused)
	for _, msg := range b.seen {
		_, taken := msg.(state.Imported)
		assert.False(t, taken, "nothing was taken in")
	}
}
