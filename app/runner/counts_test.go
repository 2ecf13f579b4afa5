package runner_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/engine/learn"
)

// kept is what the storage has of other benches.
func (b *bench) kept(id string) string {
	b.t.Helper()
	text, err := b.storage.Kept("counts/" + id)
	require.NoError(b.t, err)
	return text
}

// joined puts counts together.
func joined(t *testing.T, all ...learn.Counts) learn.Counts {
	t.Helper()
	sum := all[0]
	for _, c := range all[1:] {
		var err error
		sum, err = learn.Merge(sum, c)
		require.NoError(t, err)
	}
	return sum
}

// TestFilesOfCountsComeInAnyOrderAndCountOnce: of files of one bench and of merged ones, earlier and later, in whatever order and
// however often, the same is held: of each bench the fullest.
func TestFilesOfCountsComeInAnyOrderAndCountOnce(t *testing.T) {
	of := func(bench string, units int) learn.Counts { return runner.CountsOf(t, "tray", bench, units) }
	files := []learn.Counts{
		of("shed", 12), of("shed", 30), of("pier", 7), joined(t, of("attic", 5), of("pier", 9)),
		joined(t, of("shed", 12), of("attic", 44), of("loft", 1)), of("<b>\u202eloft", 3),
	}
	want := joined(t, files...)
	require.Equal(t, []int{3, 44, 1, 9, 30}, units(want))
	rng := rand.New(rand.NewPCG(3, 4))
	for range 12 {
		b := newBench(t, browser.NewMemory())
		order := append(rng.Perm(len(files)), rng.IntN(len(files)), rng.IntN(len(files)))
		for _, i := range order {
			b.readIn(string(files[i].Encode()))
		}
		var held []learn.Counts
		require.NoError(t, json.Unmarshal([]byte(b.kept("tray")), &held))
		require.Equal(t, []learn.Counts{want}, held, "order %v", order)
		before := b.kept("tray")
		for _, f := range files {
			require.Equal(t, state.NoticeSame, b.readIn(string(f.Encode())).Notice.Kind, "the same again adds nothing")
		}
		require.Equal(t, before, b.kept("tray"))
		require.Len(t, b.now().Lenders("tray"), 5)
		require.Empty(t, b.kept("slot-in"))
	}
}

func units(c learn.Counts) (all []int) {
	for _, b := range c.Benches {
		all = append(all, b.Units)
	}
	return all
}

// TestABenchLearnsFromOthersToo: what came in is said, it moves the numbers, and to take it out and learn again is the way
// back. A bench without a unit of its own learns from others alone.
func TestABenchLearnsFromOthersToo(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	for i := range 3 {
		b.putUnit(t, fmt.Sprintf("01J0000000000000000000TE%02d", i))
	}
	learnt := func() learn.Account {
		b.send(state.LeaveLearnt{})
		b.send(state.LearnFrom{Model: "top-loader"})
		return *b.until("it is learnt", func(s state.State) bool { return s.Learning.Account != nil }).Learning.Account
	}
	alone := learnt()
	assert.Empty(t, alone.Benches)

	lent := joined(t, runner.CountsOf(t, "top-loader", "shed", 4000), runner.CountsOf(t, "top-loader", "mine", 70))
	b.send(state.SetBench{Text: "mine"})
	b.send(state.Navigated{Path: "/"})
	require.Equal(t, state.NoticeLent, b.readIn(string(lent.Encode())).Notice.Kind)
	s := b.until("they are shown", func(s state.State) bool {
		return s.Route.Screen == state.ScreenNumbers && len(s.Lenders("top-loader")) == 2
	})
	both := learnt()
	assert.Equal(t, []learn.Bench{{ID: "shed", Units: 4000}}, both.Benches, "without those under this bench's own name")
	assert.Equal(t, 3, both.Units)
	prior := func(a learn.Account) float64 {
		for _, x := range a.Moved {
			if x.Kind == learn.Prior && x.Mode == s.Learning.Base.Modes[0].ID {
				return x.P
			}
		}
		return 0
	}
	s = b.now()
	assert.Greater(t, prior(both), prior(alone)+0.1, "what others saw moves it")
	hundred := newBench(t, browser.NewMemory())
	for i := range 3 {
		hundred.putUnit(t, fmt.Sprintf("01J0000000000000000000TE%02d", i))
	}
	hundred.readIn(string(runner.CountsOf(t, "top-loader", "shed", learn.MostLent).Encode()))
	hundred.send(state.LearnFrom{Model: "top-loader"})
	like := hundred.until("it is learnt", func(s state.State) bool { return s.Learning.Account != nil }).Learning.Account
	assert.InDelta(t, prior(*like), prior(both), 1e-9, "4,000 units weigh like 100")

	sum := s.Lenders("top-loader")[1].SHA256
	b.send(state.DropBench{Model: "top-loader", SHA256: sum, ID: "shed"})
	b.until("it is out", func(s state.State) bool { return s.Lenders("top-loader")[1].Out })
	assert.Equal(t, alone, learnt(), "to learn again without it leads back to the bit")
	b.send(state.RestoreBench{Model: "top-loader", SHA256: sum, ID: "shed"})
	b.until("it is back", func(s state.State) bool { return !s.Lenders("top-loader")[1].Out })
	assert.Equal(t, both, learnt())

	fresh := newBench(t, browser.NewMemory())
	fresh.readIn(string(lent.Encode()))
	fresh.send(state.LearnFrom{Model: "top-loader"})
	account := fresh.until("it is learnt", func(s state.State) bool { return s.Learning.Account != nil }).Learning.Account
	assert.Zero(t, account.Units)
	assert.Len(t, account.Benches, 2)
	fresh.send(state.TakeLearnt{})
	fresh.until("the learnt model is on the list", func(s state.State) bool { return len(s.Own) == 1 && s.Own[0].Learnt })
	fresh.send(state.JudgeUnits{Model: "top-loader"})
	fresh.until("there is nothing to judge", func(s state.State) bool { return s.Learning.Trial != nil && s.Learning.Trial.Units == 0 })
	fresh.send(state.SetBench{Text: "fresh"})
	fresh.send(state.GiveCounts{Model: "top-loader"})
	fresh.until("there is nothing to count", func(s state.State) bool { return s.Learning.Failed == state.LearnNone })
}

// TestCountsAreGivenAway: the file is named by bench, model and day, holds what came from others too, and nothing
// that tells of a unit.
func TestCountsAreGivenAway(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	for i := range 2 {
		b.putUnit(t, fmt.Sprintf("01J0000000000000000000TE%02d", i))
	}
	b.readIn(string(runner.CountsOf(t, "top-loader", "pier", 9).Encode()))
	b.send(state.SetBench{Text: "Shed / 2 "})
	b.send(state.GiveCounts{Model: "top-loader"})
	b.until("the units are counted", func(s state.State) bool { return s.Learning.Give != nil })
	b.device.Lock()
	assert.Empty(t, b.device.Saved, "nothing leaves before it is asked for")
	b.device.Unlock()
	f := b.saves(state.TakeCounts{Way: state.WaySave})
	assert.Equal(t, "pitwise-counts-shed-2-top-loader-2026-03-04.json", f.Name)
	c, err := learn.LoadCounts([]byte(f.Text))
	require.NoError(t, err)
	assert.Equal(t, []int{2, 9}, units(c))
	assert.Equal(t, "Shed / 2", c.Benches[0].ID)
	for _, word := range []string{"01J", "2026", "label", "EUR", "cause"} {
		assert.NotContains(t, f.Text, word)
	}

	other := newBench(t, browser.NewMemory())
	require.Equal(t, state.NoticeLent, other.readIn(f.Text).Notice.Kind)
	assert.Len(t, other.now().Lenders("top-loader"), 2)
	again := newBench(t, b.storage)
	again.send(state.Navigated{Path: "/numbers"})
	assert.Equal(t, "Shed / 2", again.now().BenchName(), "the name is kept")
	again.readIn(f.Text)
	own := again.until("its own file is held", func(s state.State) bool { return len(s.Lenders("top-loader")) == 2 }).Lenders("top-loader")[0]
	assert.True(t, own.Own, "and not counted")
}

// TestTwoWindowsHoldOneAnothersCounts: of files that two windows read in at once, and of a bench that one takes out meanwhile, each
// is held or is out as both were told. The name that a bench brings is not put over one that was given meanwhile.
func TestTwoWindowsHoldOneAnothersCounts(t *testing.T) {
	const files = 8
	m := browser.NewMemory()
	windows := []*bench{newBench(t, m), newBench(t, m)}
	gone := runner.CountsOf(t, "tray", "gone", 9)
	windows[0].readIn(string(gone.Encode()))
	windows[0].until("it is shown", func(s state.State) bool { return len(s.Lenders("tray")) == 1 })
	m.Refuse(func(string) error { time.Sleep(time.Millisecond); return nil }) // whoever may come in between does
	for i := range files {
		for w, b := range windows {
			b.runner.Do(state.Lend{Counts: runner.CountsOf(t, "tray", fmt.Sprintf("window %d, %d", w, i), 12)})
		}
		if i == files/2 {
			windows[0].send(state.DropBench{Model: "tray", SHA256: gone.SHA256, ID: "gone"})
		}
	}
	for _, b := range windows {
		b.runner.Settle()
	}
	var held []learn.Counts
	require.NoError(t, json.Unmarshal([]byte(windows[0].kept("tray")), &held))
	require.Len(t, held, 1)
	names := map[string]bool{}
	for _, b := range held[0].Benches {
		names[b.ID] = true
	}
	assert.Len(t, names, 2*files)
	assert.NotContains(t, names, "gone")

	mover := newBench(t, browser.NewMemory())
	mover.takeIn()
	mover.send(state.SetBench{Text: "loft"})
	mover.runner.Settle()
	file := mover.saves(state.BackUp{Way: state.WaySave}).Text
	windows[1].send(state.SetBench{Text: "quay"})
	windows[1].runner.Settle()
	windows[0].readIn(file)
	assert.Equal(t, "quay", windows[0].now().Bench, "it has the name that the other gave it")
	name, err := m.Kept("bench")
	require.NoError(t, err)
	assert.Equal(t, "quay", name)
}

// TestCountsThatCannotBeUsedAreRefused: all that is wrong is told with its line, and nothing is held.
func TestCountsThatCannotBeUsedAreRefused(t *testing.T) {
	good := string(runner.CountsOf(t, "tray", "shed", 12).Encode())
	sum := runner.CountsOf(t, "tray", "shed", 12).SHA256
	for name, c := range map[string]struct {
		text  string
		kind  state.FileKind
		place string
		line  int
	}{
		"of other numbers":       {strings.Replace(good, sum, strings.Repeat("0", 64), 1), state.FileOther, "sha256", 5},
		"of a model unknown":     {strings.Replace(good, `"tray"`, `"kettle"`, 1), state.FileOther, "model", 4},
		"a number below nought":  {changed(t, good, `"units": 12`, `"units": -12`), state.FileCounts, "benches[0].units", 9},
		"something unknown":      {changed(t, good, `"prior/`, `"prior/<b>`), state.FileCounts, `benches[0].counts["prior/<b>`, 11},
		"a row of other length":  {changed(t, good, "[0, 12", "[0, 12, 12, 12, 12, 12, 12, 12, 12"), state.FileCounts, `benches[0].counts["prior/`, 11},
		"cut off":                {good[:len(good)/2], state.FileCut, "", 0},
		"of a later program":     {strings.Replace(good, `"version": 1`, `"version": 2`, 1), state.FileNewer, "version", 3},
		"of more than is kept":   {string(crowd(t).Encode()), state.FileMany, "benches", 6},
		"a name without an end":  {changed(t, good, `"shed"`, `"`+strings.Repeat("x", 201)+`"`), state.FileCounts, "benches[0].bench", 8},
		"a date among the units": {changed(t, good, `"units": 12`, `"units": 12, "at": "2026-03-04"`), state.FileCounts, "benches[0].at", 9},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, browser.NewMemory())
			s := b.readIn(c.text)
			require.NotNil(t, s.Refused)
			assert.Equal(t, c.kind, s.Refused.Kind)
			require.NotEmpty(t, s.Refused.Defects)
			assert.Contains(t, s.Refused.Defects[0].Place, c.place)
			if c.line > 0 {
				assert.Equal(t, c.line, s.Refused.Defects[0].Line, s.Refused.Text())
			}
			assert.Empty(t, b.kept("tray"))
			assert.Empty(t, s.Lending.Held)
		})
	}
}

// crowd are counts of more benches than are held.
func crowd(t *testing.T) learn.Counts {
	c := runner.CountsOf(t, "tray", "0", 1)
	for i := range 100 {
		c.Benches = append(c.Benches, learn.Bench{ID: fmt.Sprintf("1%03d", i), Units: 1})
	}
	return c
}

// TestCountsOutliveAStorageThatFails: what does not come in is told, and what is held stays.
func TestCountsOutliveAStorageThatFails(t *testing.T) {
	m := browser.NewMemory()
	b := newBench(t, m)
	b.readIn(string(runner.CountsOf(t, "tray", "shed", 12).Encode()))
	before := b.kept("tray")
	m.Refuse(func(call string) error {
		if call == "alter" {
			return browser.ErrFull
		}
		return nil
	})
	s := b.readIn(string(runner.CountsOf(t, "tray", "pier", 12).Encode()))
	assert.Equal(t, state.TroubleImport, s.Notice.Trouble)
	assert.Nil(t, s.Refused, "nothing is wrong with the file")
	b.send(state.DropBench{Model: "tray", SHA256: s.Lenders("tray")[0].SHA256, ID: "shed"})
	b.until("it is told", func(s state.State) bool { return s.Storage.Trouble == state.TroubleFull })
	assert.False(t, b.now().Lenders("tray")[0].Out)
	m.Refuse(nil)
	assert.Equal(t, before, b.kept("tray"))
	b.readIn(string(runner.CountsOf(t, "tray", "pier", 12).Encode()))
	assert.Len(t, b.now().Lenders("tray"), 2)
}

// TestCountsMoveWithTheBench: a backup takes them along with the name of the bench, what arrived is proved, and counts of other numbers
// are left out of it.
func TestCountsMoveWithTheBench(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	b.takeIn()
	for _, c := range []learn.Counts{runner.CountsOf(t, "tray", "shed", 12), runner.CountsOf(t, "tray", "pier", 3), runner.CountsOf(t, "slot-in", "shed", 5)} {
		b.readIn(string(c.Encode()))
	}
	stale := runner.CountsOf(t, "top-loader", "attic", 9)
	stale.SHA256 = strings.Repeat("0", 64)
	text, err := json.Marshal([]learn.Counts{stale})
	require.NoError(t, err)
	require.NoError(t, b.storage.Keep("counts/top-loader", string(text)))
	b.send(state.SetBench{Text: "loft"})
	b.runner.Settle()
	file := b.saves(state.BackUp{Way: state.WaySave}).Text
	out := b.until("it is told what the file holds", func(s state.State) bool { return s.Moving.Out != nil }).Moving.Out
	assert.Equal(t, 3, out.Benches)
	assert.NotContains(t, file, "attic")

	other := newBench(t, browser.NewMemory())
	other.send(state.Navigated{Path: "/move"})
	other.readIn(file)
	in := other.until("it is proved", func(s state.State) bool { return s.Moving.In != nil }).Moving.In
	assert.Equal(t, *out, *in)
	for _, id := range []string{"tray", "slot-in"} {
		assert.Equal(t, b.kept(id), other.kept(id))
	}
	name, err := other.storage.Kept("bench")
	require.NoError(t, err)
	assert.Equal(t, "loft", name)
	assert.Equal(t, state.NoticeSame, other.readIn(file).Notice.Kind, "twice changes nothing")

	third := newBench(t, browser.NewMemory())
	third.send(state.SetBench{Text: "quay"})
	third.readIn(string(runner.CountsOf(t, "tray", "shed", 40).Encode()))
	third.readIn(file)
	in = third.until("it is proved", func(s state.State) bool { return s.Moving.In != nil }).Moving.In
	assert.Zero(t, in.Lacking, "one that is fuller here is here")
	assert.Equal(t, "quay", third.now().Bench, "a bench that has a name keeps it")
	refused := third.readIn(changed(t, file, `"units": 5`, `"units": 6`)).Refused
	require.NotNil(t, refused)
	assert.Contains(t, refused.Text(), "the file was changed or cut")
}

// TestCountsOfEarlierNumbersAreHeldAndNotUsed: a page that comes with other numbers says so.
func TestCountsOfEarlierNumbersAreHeldAndNotUsed(t *testing.T) {
	m := browser.NewMemory()
	stale := runner.CountsOf(t, "tray", "attic", 9)
	stale.SHA256 = strings.Repeat("0", 64)
	text, err := json.Marshal([]learn.Counts{stale})
	require.NoError(t, err)
	require.NoError(t, m.Keep("counts/tray", string(text)))
	b := newBench(t, m)
	b.readIn(string(runner.CountsOf(t, "tray", "attic", 3).Encode()))
	s := b.until("both are there", func(s state.State) bool { return len(s.Lenders("tray")) == 2 })
	assert.True(t, s.Lenders("tray")[0].Stale)
	assert.False(t, s.Lenders("tray")[1].Stale)
	b.send(state.LearnFrom{Model: "tray"})
	s = b.until("it is learnt", func(s state.State) bool { return s.Learning.Account != nil })
	assert.Equal(t, []learn.Bench{{ID: "attic", Units: 3}}, s.Learning.Account.Benches)
	b.send(state.DropBench{Model: "tray", SHA256: stale.SHA256, ID: "attic"})
	b.until("it is out", func(s state.State) bool { return s.Lenders("tray")[0].Out })
	assert.NotContains(t, b.kept("tray"), stale.SHA256)
}
