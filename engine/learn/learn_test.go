package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
	"pitwise/engine/document"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

const lamp = `{
	"format": "pitwise/model", "version": 1, "id": "lamp", "revision": "1", "title": "A lamp",
	"most_faults": 2, "sources": {"made-up": {"kind": "memory", "cite": "invented for a test"}},
	"setups": [{"id": "shut"}, {"id": "open", "inside": "shut",
		"enter": {"minutes": 3, "money": 0, "source": "made-up"}, "leave": {"minutes": 2, "money": 0, "risks": {"switch.stiff": 0.1}, "source": "made-up"}}],
	"components": [{"id": "bulb", "modes": [{"id": "blown", "prior": 0.25, "source": "made-up"}]},
		{"id": "switch", "modes": [{"id": "stiff", "prior": 0.1, "source": "made-up"}]}],
	"tests": [{"id": "switch-on", "intake": true, "at": "shut", "minutes": 1, "money": 0,
		"outcomes": [{"id": "shines"}, {"id": "dark"}], "healthy": [0.9, 0.1], "given": {"bulb.blown": [0.2, 0.7999999999999999], "switch.stiff": [0.3, 0.7]},
		"steadiness": 0.5, "source": "made-up"},
		{"id": "shake", "at": "open", "minutes": 1, "money": 0, "outcomes": [{"id": "still"}, {"id": "rattles"}], "healthy": [0.8, 0.2],
		"given": {"bulb.blown": [0.1, 0.9]}, "steadiness": 2, "source": "made-up"}],
	"repairs": [{"id": "new-bulb", "at": "open", "minutes": 4, "money": 1.5, "fixes": {"bulb.blown": 0.9}, "source": "made-up"}]
}`

func events(t *trail.Trail, all ...trail.Event) *trail.Trail {
	t.Created = "2026-01-01T00:00:00Z"
	t.Model.ID = "lamp"
	for i := range all {
		all[i].N, all[i].At = i+1, t.Created
	}
	t.Events = all
	return t
}

func result(test model.TestID, outcome model.OutcomeID) trail.Event {
	return trail.Event{Kind: trail.Result, Test: test, Outcome: outcome}
}

// TestToBeBroughtInTeachesNothingByItself: with two outcomes, that a unit failed is all that
// "brought in" says, and nothing may move.
func TestToBeBroughtInTeachesNothingByItself(t *testing.T) {
	l, err := New(loaded(t, []byte(lamp)))
	require.NoError(t, err)
	for i := range 500 {
		tr := &trail.Trail{ID: fmt.Sprint(i)}
		switch i % 3 {
		case 0:
			events(tr, result("switch-on", "dark"))
		case 1: // the result that brought it in was not recorded
			events(tr, trail.Event{Kind: trail.Note, Text: "x"})
		default:
			events(tr, result("switch-on", "dark"), trail.Event{Kind: trail.End, As: trail.WrittenOff})
		}
		require.NoError(t, l.Add(tr))
	}
	fit, err := l.Fit(Options{Close: 1e-9})
	require.NoError(t, err)
	assert.InDeltaSlice(t, l.frame.ship, fit.numbers, 1e-9)
	assert.InDelta(t, 0, fit.Log, 1e-9, "given that it was brought in, a dark lamp is certain")
	assert.Empty(t, fit.Account().Moved)
}

// TestUnitsThatAreNeverBroughtInDoNotBiasThePriors: two thousand units of a lamp whose numbers are twice
// or half the shipped ones, each looked at a few times; what is learnt is what is true, though
// among units brought in a blown bulb is three times as frequent as among all.
func TestUnitsThatAreNeverBroughtInDoNotBiasThePriors(t *testing.T) {
	m := loaded(t, []byte(lamp))
	l, err := New(m)
	require.NoError(t, err)
	f := l.frame
	d := chance{rand.New(rand.NewPCG(4, 4)), f}
	truth := slices.Clone(f.ship)
	copy(f.row(truth, f.prior[0]), []float64{0.85, 0.15})
	copy(f.row(truth, f.prior[1]), []float64{0.8, 0.2})
	const n = 2000
	blown := 0.0
	for range n {
		tr, causes := d.unit(truth, 6)
		require.NoError(t, l.Add(tr))
		if slices.Contains(causes, "bulb.blown") {
			blown++
		}
	}
	fit, err := l.Fit(Options{})
	require.NoError(t, err)
	require.NoError(t, fit.Intervals(Sweeps{Warm: 20, Keep: 100}))
	assert.Greater(t, blown/n, 0.35)
	for _, x := range fit.Figures()[:2] {
		want := map[model.ModeID]float64{"bulb.blown": 0.15, "switch.stiff": 0.2}[x.Mode]
		sd := (x.Interval.High - x.Interval.Low) / 3.29
		assert.InDelta(t, want, x.P, 3*sd, "%s", x.Mode)
		assert.Less(t, sd, 0.3*want, "%s", x.Mode)
	}
}

// numbersOf learns from trails in the order given.
func numbersOf(t *testing.T, m *model.Model, cores int, trails ...*trail.Trail) []float64 {
	l, err := New(m)
	require.NoError(t, err)
	for _, tr := range trails {
		require.NoError(t, l.Add(tr))
	}
	fit, err := l.Fit(Options{Cores: cores})
	require.NoError(t, err)
	return fit.numbers
}

func TestLearningIsAFunctionOfTheSetOfTrails(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	m := loaded(t, random.Model(rng, random.Size{Components: 4, Modes: 2, Tests: 4, Outcomes: 3, Repairs: 2, Setups: 2, MostFaults: 2, Exact: true}))
	f, err := newFrame(m)
	require.NoError(t, err)
	d := chance{rng, f}
	truth := d.truth()
	var trails []*trail.Trail
	for range 60 {
		tr, causes := d.unit(truth, 5)
		if rng.IntN(3) == 0 && len(causes) > 0 {
			tr.Events = append(tr.Events, trail.Event{N: len(tr.Events) + 1, At: tr.Created, Kind: trail.End, As: trail.SignedOff, Causes: causes})
		}
		trails = append(trails, tr)
	}
	want := numbersOf(t, m, 1, trails...)
	shuffled := slices.Clone(trails)
	rng.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	t.Run("order and cores do not matter, to the bit", func(t *testing.T) {
		assert.Equal(t, want, numbersOf(t, m, 7, shuffled...))
	})
	t.Run("the same unit twice counts once, in its later state", func(t *testing.T) {
		earlier := *trails[5]
		earlier.Events = earlier.Events[:1]
		assert.Equal(t, want, numbersOf(t, m, 1, append([]*trail.Trail{&earlier}, append(slices.Clone(trails), trails[7], &earlier)...)...))
	})
	t.Run("a voided event leaves no trace", func(t *testing.T) {
		tr := *trails[9]
		tr.Events = slices.Clone(tr.Events)
		n := len(tr.Events)
		test := m.Tests[(m.Intake+1)%len(m.Tests)]
		tr.Events = append(tr.Events, trail.Event{N: n + 1, At: tr.Created, Kind: trail.Result, Test: test.ID, Outcome: test.Outcomes[0].ID},
			trail.Event{N: n + 2, At: tr.Created, Kind: trail.Void, Of: n + 1})
		with := slices.Clone(trails)
		with[9] = &tr
		assert.Equal(t, want, numbersOf(t, m, 1, with...))
	})
	t.Run("taking a unit back is never having had it", func(t *testing.T) {
		l, err := New(m)
		require.NoError(t, err)
		for _, tr := range trails {
			require.NoError(t, l.Add(tr))
		}
		l.Remove(trails[3].ID)
		fit, err := l.Fit(Options{})
		require.NoError(t, err)
		assert.Equal(t, numbersOf(t, m, 1, slices.Delete(slices.Clone(trails), 3, 4)...), fit.numbers)
	})
}

// TestWhatAUnitTaught: of twenty lamps of which none rattled, the one that does teaches that
// blown bulbs are more frequent; and a unit that shows only that it was brought in teaches nothing.
func TestWhatAUnitTaught(t *testing.T) {
	l, err := New(loaded(t, []byte(lamp)))
	require.NoError(t, err)
	for i := range 20 {
		require.NoError(t, l.Add(events(&trail.Trail{ID: fmt.Sprint(i)}, result("switch-on", "dark"), result("shake", "still"))))
	}
	require.NoError(t, l.Add(events(&trail.Trail{ID: "rattling"}, result("switch-on", "dark"), result("shake", "rattles"))))
	require.NoError(t, l.Add(events(&trail.Trail{ID: "silent"}, result("switch-on", "dark"))))
	fit, err := l.Fit(Options{Close: 1e-6})
	require.NoError(t, err)
	taught, err := l.Taught(fit, "rattling", Options{Close: 1e-6})
	require.NoError(t, err)
	found := false
	for _, x := range taught {
		if x.Kind == Prior && x.Mode == "bulb.blown" {
			found = true
			assert.Greater(t, x.P, x.Shipped)
		}
	}
	assert.True(t, found)
	none, err := l.Taught(fit, "silent", Options{Close: 1e-6})
	require.NoError(t, err)
	assert.Empty(t, none)
}

// TestVeryManyTrailsEndWhereAllDo: climbing on some of the trails first changes where EM sets off
// from, not where it ends.
func TestVeryManyTrailsEndWhereAllDo(t *testing.T) {
	m := loaded(t, []byte(lamp))
	l, err := New(m)
	require.NoError(t, err)
	d := chance{rand.New(rand.NewPCG(14, 4)), l.frame}
	truth := d.truth()
	for range 300 {
		tr, _ := d.unit(truth, 8)
		require.NoError(t, l.Add(tr))
	}
	straight, err := l.Fit(Options{Close: 1e-6})
	require.NoError(t, err)
	round, err := l.Fit(Options{Close: 1e-6, many: 80})
	require.NoError(t, err)
	require.Greater(t, len(straight.groups), 80)
	assert.Less(t, straight.Rounds, 150, "without leaps it takes a thousand")
	assert.InDelta(t, straight.Score, round.Score, 1e-3)
	assert.InDelta(t, straight.Shipped, round.Shipped, 1e-9)
	assert.InDeltaSlice(t, straight.numbers, round.numbers, 1e-4)
}

// TestVeryManyTrailsAreHeldInLittle: what grows with the trails, when all have been looked at, is what
// Learner keeps of each and which hypotheses matter to it. A trail ready to be worked with is ten times that.
func TestVeryManyTrailsAreHeldInLittle(t *testing.T) {
	m, err := catalog.Load("top-loader")
	require.NoError(t, err)
	l, err := New(m)
	require.NoError(t, err)
	d := chance{rand.New(rand.NewPCG(1, 1)), l.frame}
	held := func() float64 {
		runtime.GC()
		var now runtime.MemStats
		runtime.ReadMemStats(&now)
		return float64(now.HeapAlloc)
	}
	fitted := func(trails int) float64 {
		for range trails - l.Len() {
			tr, _ := d.unit(l.frame.ship, 8)
			require.NoError(t, l.Add(tr))
		}
		fit, err := l.Fit(Options{Rounds: 1, trust: 1})
		require.NoError(t, err)
		require.Len(t, fit.groups, trails)
		now := held()
		runtime.KeepAlive(fit)
		return now
	}
	for i := range l.frame.laws {
		l.frame.laws[i].sort() // they do not grow with the trails
	}
	before := fitted(100)
	assert.Less(t, (fitted(200)-before)/100, 3000.0, "bytes a trail")
}

// TestAnybodySeesHowFarARoundIs: rounds are counted on through everything that is climbed, and the trails of each
// from some to all.
func TestAnybodySeesHowFarARoundIs(t *testing.T) {
	l, err := New(loaded(t, []byte(lamp)))
	require.NoError(t, err)
	d := chance{rand.New(rand.NewPCG(14, 4)), l.frame}
	for range 100 {
		tr, _ := d.unit(l.frame.ship, 8)
		require.NoError(t, l.Add(tr))
	}
	rounds, most := []int{}, 0
	_, err = l.Fit(Options{Told: func(n int) { rounds = append(rounds, n) }, Within: func(n int) { most = max(most, n) }})
	require.NoError(t, err)
	for i, n := range rounds {
		assert.Equal(t, i+1, n)
	}
	assert.Equal(t, len(l.groups()), most)
}

// TestALearntModelLoads: rows stay rows of a noisy MAX, also where entries are tiny, and the
// file says what it is and is not learnt from again.
func TestALearntModelLoads(t *testing.T) {
	for seed := range uint64(25) {
		rng := rand.New(rand.NewPCG(seed, 13))
		m := loaded(t, random.Model(rng, random.Size{Components: 4, Modes: 3, Tests: 5, Outcomes: 5, Repairs: 3, Setups: 3, Extreme: seed%2 == 0}))
		if len(m.Tests[m.Intake].Outcomes) < 2 {
			continue
		}
		l, err := New(m)
		require.NoError(t, err)
		for range 30 {
			tr := evening(t, rng, m.Text, 8)
			brought(m, tr, 1)
			l.Add(tr)
		}
		fit, err := l.Fit(Options{Rounds: 40})
		require.NoError(t, err)
		learnt, err := fit.Model()
		require.NoError(t, err)
		assert.NotEqual(t, m.Revision, learnt.Revision)
		assert.Equal(t, m.ID, learnt.ID)
		source, ok := learnt.Source(learntSource)
		require.True(t, ok)
		assert.Contains(t, source.Cite, m.SHA256)
		for i, x := range fit.Figures()[:len(m.Modes)] {
			assert.InEpsilon(t, x.P, learnt.Modes[i].Prior, 1e-6)
		}
		_, err = New(learnt)
		assert.ErrorIs(t, err, ErrLearnt)
	}
}

// TestWrongCausesAreFoundOut: with half of the causes wrong the share that is found wrong is near a
// half, and with none it is small.
func TestWrongCausesAreFoundOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	m := loaded(t, random.Model(rng, random.Size{Components: 6, Modes: 2, Tests: 6, Outcomes: 4, Repairs: 2, Setups: 2, MostFaults: 2, Exact: true}))
	for _, wrong := range []float64{0, 0.5} {
		l, err := New(m)
		require.NoError(t, err)
		d := chance{rng, l.frame}
		written := 0
		for range 300 {
			tr, causes := d.unit(l.frame.ship, 8)
			if len(causes) == 0 {
				continue
			}
			if d.Float64() < wrong {
				for i := range causes {
					causes[i] = m.Modes[d.IntN(len(m.Modes))].ID
				}
				slices.Sort(causes)
				causes = slices.Compact(causes)
			}
			written++
			tr.Events = append(tr.Events, trail.Event{N: len(tr.Events) + 1, At: tr.Created, Kind: trail.End, As: trail.WrittenOff, Causes: causes})
			require.NoError(t, l.Add(tr))
		}
		fit, err := l.Fit(Options{})
		require.NoError(t, err)
		account := fit.Account()
		assert.InDelta(t, written, account.Wrong.Seen, 1e-6)
		assert.InDelta(t, wrong, account.Wrong.P, 0.12, "%v wrong", wrong)
	}
}

// TestSilenceAboutUnitsWithNothingWrongIsNoSilenceAboutFaults: every cause is written down, and of a unit that showed
// a fault with nothing wrong there is none to write. Taken for units of which nobody wrote the cause
// down, these would teach that nothing shows a fault by itself.
func TestSilenceAboutUnitsWithNothingWrongIsNoSilenceAboutFaults(t *testing.T) {
	m := loaded(t, []byte(strings.Replace(lamp, `"repairs": [{"id": "new-bulb", "at": "open", "minutes": 4, "money": 1.5, "fixes": {"bulb.blown": 0.9}, "source": "made-up"}]`, `"repairs": []`, 1)))
	l, err := New(m)
	require.NoError(t, err)
	d := chance{rand.New(rand.NewPCG(8, 4)), l.frame}
	silent := 0.0
	for range 600 {
		tr, causes := d.unit(l.frame.ship, 0)
		if len(causes) == 0 {
			silent++
		}
		tr.Events = append(tr.Events, trail.Event{N: len(tr.Events) + 1, At: tr.Created, Kind: trail.End, As: trail.SignedOff, Causes: causes})
		require.NoError(t, l.Add(tr))
	}
	require.Greater(t, silent, 60.0)
	fit, err := l.Fit(Options{trust: 1})
	require.NoError(t, err)
	assert.InDelta(t, 0.1, l.frame.row(fit.numbers, l.frame.leak[m.Intake])[1], 0.03)
	assert.Greater(t, l.frame.row(fit.numbers, l.frame.answer)[0], 0.8)
	assert.Less(t, l.frame.row(fit.numbers, l.frame.back[0])[0], 0.1, "none came back")
	account := fit.Account()
	assert.Equal(t, 600-silent, account.Wrong.Seen)
	assert.Less(t, account.Gain, 0.1, "to know the habits of a bench is no better model of units")
	require.NoError(t, fit.Intervals(Sweeps{Warm: 20, Keep: 100}))
	dark := fit.spans[l.frame.blocks[l.frame.leak[m.Intake]].at+1]
	assert.Less(t, dark.Low, 0.1)
	assert.Greater(t, dark.High, 0.05, "that all causes are written is the end of what can be, so that it lies at the end of the interval or beyond")
}

func TestTrailsThatCannotBeWorkedWithAreLeftOutAndNamed(t *testing.T) {
	l, err := New(loaded(t, []byte(lamp)))
	require.NoError(t, err)
	require.NoError(t, l.Add(events(&trail.Trail{ID: "fine"}, result("switch-on", "dark"))))
	other := events(&trail.Trail{ID: "other"}, result("switch-on", "dark"))
	other.Model.ID = "torch"
	assert.ErrorIs(t, l.Add(other), ErrOtherModel)
	assert.ErrorIs(t, l.Add(events(&trail.Trail{ID: "strange"}, result("weigh", "heavy"))), ErrOtherModel)
	fit, err := l.Fit(Options{})
	require.NoError(t, err)
	assert.Equal(t, 1, fit.Units)
	require.Len(t, fit.Left, 2)
	assert.Equal(t, "other", fit.Left[0].ID)
	left := fit.Account().Left
	require.Len(t, left, 2, "a person is told of them")
	assert.Contains(t, left[0], "other: ")
	assert.Contains(t, left[1], "strange: ")
}

// TestALearntModelSaysItsSourceWhateverTheModelHad: without sources, with none in them, and with one
// that has the name already.
func TestALearntModelSaysItsSourceWhateverTheModelHad(t *testing.T) {
	bare := strings.ReplaceAll(lamp, `, "source": "made-up"`, "")
	with := `"sources": {"made-up": {"kind": "memory", "cite": "invented for a test"}},`
	learn := func(text string) (*model.Model, error) {
		m := loaded(t, []byte(text))
		l, err := New(m)
		require.NoError(t, err)
		for _, id := range []string{"one", "two", "three"} {
			require.NoError(t, l.Add(events(&trail.Trail{ID: id}, result("switch-on", "dark"), result("shake", "rattles"))))
		}
		fit, err := l.Fit(Options{})
		require.NoError(t, err)
		return fit.Model()
	}
	for name, text := range map[string]string{
		"as it is": lamp, "none": strings.Replace(bare, with, "", 1), "an empty object": strings.Replace(bare, with, `"sources": {},`, 1),
	} {
		t.Run(name, func(t *testing.T) {
			learnt, err := learn(text)
			require.NoError(t, err)
			source, ok := learnt.Source(learntSource)
			require.True(t, ok)
			assert.Contains(t, source.Cite, "learnt from 3 units of this bench, from revision 1")
			assert.Greater(t, learnt.Modes[0].Prior, 0.25, "all three had it")
		})
	}
}

func TestAStopStops(t *testing.T) {
	l, err := New(loaded(t, []byte(lamp)))
	require.NoError(t, err)
	require.NoError(t, l.Add(events(&trail.Trail{ID: "fine"}, result("switch-on", "dark"), result("shake", "rattles"))))
	_, err = l.Fit(Options{Stop: func() bool { return true }})
	assert.ErrorIs(t, err, ErrStopped)
	asked := 0
	_, err = l.Fit(Options{Stop: func() bool { asked++; return asked > 2 }})
	assert.ErrorIs(t, err, ErrStopped, "in a round too")
	fit, err := l.Fit(Options{})
	require.NoError(t, err)
	assert.ErrorIs(t, fit.Intervals(Sweeps{Stop: func() bool { return true }}), ErrStopped)
}

func learntFrom(t *testing.T, m *model.Model, d chance, truth []float64, units int, lend ...Counts) *Fit {
	l, err := New(m)
	require.NoError(t, err)
	for _, c := range lend {
		require.NoError(t, l.Lend(c, "here"))
	}
	for range units {
		tr, _ := d.unit(truth, 5)
		require.NoError(t, l.Add(tr))
	}
	fit, err := l.Fit(Options{})
	require.NoError(t, err)
	return fit
}

func TestCountsMergeAsSetsDo(t *testing.T) {
	m := loaded(t, []byte(lamp))
	f, err := newFrame(m)
	require.NoError(t, err)
	d := chance{rand.New(rand.NewPCG(1, 2)), f}
	truth := d.truth()
	shed := learntFrom(t, m, d, truth, 30).Counts("shed")
	later := learntFrom(t, m, d, truth, 40).Counts("shed")
	pier := learntFrom(t, m, d, truth, 20).Counts("pier")
	attic := learntFrom(t, m, d, truth, 25).Counts("attic")
	merged := func(all ...Counts) string {
		sum := all[0]
		for _, c := range all[1:] {
			var err error
			sum, err = Merge(sum, c)
			require.NoError(t, err)
		}
		return string(sum.Encode())
	}
	one := merged(shed, pier, attic)
	assert.Equal(t, one, merged(attic, shed, pier), "commutative")
	inner, err := Merge(pier, attic)
	require.NoError(t, err)
	assert.Equal(t, one, merged(shed, inner), "associative")
	assert.Equal(t, one, merged(shed, pier, attic, pier, shed), "idempotent")
	assert.Equal(t, merged(later, pier), merged(pier, shed, later, shed), "of one bench the fuller")
	back, err := LoadCounts([]byte(one))
	require.NoError(t, err)
	assert.Equal(t, one, string(back.Encode()))
	units := map[string]int{}
	for _, b := range back.Benches {
		units[b.ID] = b.Units
	}
	assert.Equal(t, map[string]int{"attic": 25, "pier": 20, "shed": 30}, units)
	for _, word := range []string{"unit-", "2026", "label", "text"} {
		assert.NotContains(t, one, word)
	}
	shed.SHA256 = "other"
	_, err = Merge(shed, pier)
	assert.ErrorIs(t, err, ErrOtherCounts)
	l, err := New(m)
	require.NoError(t, err)
	assert.ErrorIs(t, l.Lend(shed, "here"), ErrOtherCounts, "counts of another text are not taken in")
	var crowd []string
	for i := range mostBenches + 1 {
		crowd = append(crowd, fmt.Sprintf(`{"bench": "%06d", "units": 1}`, i))
	}
	_, err = LoadCounts([]byte(`{"format": "pitwise/counts", "version": 1, "model": "lamp", "sha256": "x", "benches": [` + strings.Join(crowd, ",") + `]}`))
	assert.ErrorIs(t, err, ErrCounts)
	assert.ErrorContains(t, err, "want at most")
	idle := Counts{Model: m.ID, SHA256: m.SHA256, Benches: []Bench{{ID: "idle", Counts: map[string][]float64{"prior/bulb": {0, 1e6}, "prior/nothing": {1}}}}}
	require.NoError(t, l.Lend(idle, "here"))
	fit, err := l.Fit(Options{})
	require.NoError(t, err)
	assert.InDelta(t, 0.25, fit.Figures()[0].P, 1e-9, "a bench that saw no unit says nothing")
}

// TestWhatAStrangerCanMoveIsBounded: a bench that claims a million units, all of one fault, moves
// a prior no farther than MostLent watched units do.
func TestWhatAStrangerCanMoveIsBounded(t *testing.T) {
	m := loaded(t, []byte(lamp))
	l, err := New(m)
	require.NoError(t, err)
	require.NoError(t, l.Lend(Counts{Model: m.ID, SHA256: m.SHA256, Benches: []Bench{{ID: "liar", Units: 1_000_000, Counts: map[string][]float64{
		"prior/bulb": {0, 1e12}, "prior/nothing": {1}, "test/shake": {1, 2, 3}}}}}, "here"))
	fit, err := l.Fit(Options{})
	require.NoError(t, err)
	lent := fit.alpha[l.frame.blocks[l.frame.prior[0]].at+1] - 8*0.25
	assert.LessOrEqual(t, lent, float64(lentBlock))
	assert.LessOrEqual(t, fit.Figures()[0].P, (8*0.25+lentBlock)/(8+lentBlock)+1e-9)
	for _, x := range fit.Figures() {
		if x.Test == "shake" {
			assert.InDelta(t, x.Shipped, x.P, 1e-9, "a row of another length is passed over")
		}
	}
	const head = `{"format": "pitwise/counts", "version": 1, "model": "lamp", "sha256": "x", "benches": `
	for _, bad := range []string{``, `{}`, `{"format": 3}`, `{"format": "pitwise/counts", "version": 2}`, head + `[{"bench": "a", "units": -1}]}`,
		head + `[{"bench": "a", "units": 1, "counts": {"prior/bulb": [-1]}}]}`, head + `[{"bench": "b", "units": 1}, {"bench": "a", "units": 1}]}`} {
		_, err := LoadCounts([]byte(bad))
		assert.ErrorIs(t, err, ErrCounts, bad)
	}
	_, err = LoadCounts([]byte(head + `[
		{"bench": "b", "units": 1},
		{"bench": "a", "units": 1}]}`))
	assert.ErrorContains(t, err, `benches[1].bench`, "with its place")
	_, err = LoadCounts([]byte(head + `[{"bench": "a", "units": "many", "counts": {"prior/bulb": [1, "x"]}}]}`))
	assert.ErrorContains(t, err, `benches[0].units`)
	assert.ErrorContains(t, err, `"prior/bulb"`, "all that is wrong")
}

// TestCountsAreCheckedAgainstTheirModel: what the model does not have is told with its line, counts of other numbers as such.
func TestCountsAreCheckedAgainstTheirModel(t *testing.T) {
	m := loaded(t, []byte(lamp))
	check := func(text string, m *model.Model) error {
		_, err := LoadCounts([]byte(text))
		require.NoError(t, err)
		return CheckCounts(document.NewReport([]byte(text)), m)
	}
	of := func(id, sha256, counts string) string {
		return fmt.Sprintf("{\"format\": \"pitwise/counts\", \"version\": 1, \"model\": %q, \"sha256\": %q, \"benches\": [\n{\"bench\": \"shed\", \"units\": 3, \"counts\": {\n%s}}]}", id, sha256, counts)
	}
	assert.NoError(t, check(of("lamp", m.SHA256, `"prior/bulb": [2, 1]`), m))
	err := check(of("lamp", m.SHA256, "\"prior/bulb\": [2, 1, 1],\n\"prior/hinge\": [1, 1]"), m)
	require.ErrorIs(t, err, ErrCounts)
	require.Len(t, document.DefectsOf(err).List, 2, "all that is wrong")
	for i, want := range []document.Defect{
		{Place: `benches[0].counts["prior/bulb"]`, Found: "3 numbers, want 2", Line: 3, Column: 1},
		{Place: `benches[0].counts["prior/hinge"]`, Found: "the model has nothing of that name", Line: 4, Column: 1},
	} {
		assert.Equal(t, want, document.DefectsOf(err).List[i])
	}
	err = check(of("lamp", "0000", `"prior/bulb": [2, 1]`), m)
	assert.ErrorIs(t, err, ErrOtherCounts)
	assert.Equal(t, "sha256", document.DefectsOf(err).List[0].Place)
	assert.ErrorIs(t, check(of("kettle", m.SHA256, ""), m), ErrOtherCounts)
	assert.ErrorIs(t, check(of("lamp", m.SHA256, ""), nil), ErrOtherCounts)

	l, err := New(m)
	require.NoError(t, err)
	fit, err := l.Fit(Options{})
	require.NoError(t, err)
	for i := range fit.counts {
		fit.counts[i] = 1
	}
	assert.NoError(t, check(string(fit.Counts("shed").Encode()), m), "of everything that is counted")
	long := strings.Repeat("\u00e4", mostName)
	_, err = LoadCounts([]byte(strings.Replace(of("lamp", m.SHA256, ""), "shed", long, 1)))
	assert.NoError(t, err)
	_, err = LoadCounts([]byte(strings.Replace(of("lamp", m.SHA256, ""), "shed", long+"x", 1)))
	assert.ErrorContains(t, err, "at most 200 characters")
}

// TestCountsOfAnotherBenchHelp: to learn from one bench's trails with the counts of
// another ends nearer to what the trails of both give
// than to learn from its trails alone.
func TestCountsOfAnotherBenchHelp(t *testing.T) {
	m := loaded(t, []byte(lamp))
	f, err := newFrame(m)
	require.NoError(t, err)
	var farLent, farAlone float64
	for seed := range uint64(12) {
		truth := chance{rand.New(rand.NewPCG(seed, 5)), f}.truth()
		both := learntFrom(t, m, chance{rand.New(rand.NewPCG(seed, 2)), f}, truth, 160)
		rng := chance{rand.New(rand.NewPCG(seed, 2)), f}
		first := learntFrom(t, m, rng, truth, 80).Counts("there")
		lent := learntFrom(t, m, rng, truth, 80, first)
		alone := learntFrom(t, m, chance{rand.New(rand.NewPCG(seed, 2)), f}, truth, 80)
		for i, x := range both.numbers {
			farLent += math.Abs(lent.numbers[i] - x)
			farAlone += math.Abs(alone.numbers[i] - x)
		}
	}
	assert.Less(t, farLent, 0.8*farAlone)
}
