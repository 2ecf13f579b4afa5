package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/sim"
	"pitwise/engine/trail"
)

// A study measures what believing costs and what learning wins back: truths are drawn around the
// shipped numbers, rows and links Dirichlet of weight 10, priors lognormal of spread 0.5 with their
// mean kept; units are drawn from each truth and played by the planner that believes the shipped
// numbers, by one that knows the truth, and by ones that learnt from so many of the first one's
// evenings. All play the same units. To be in time all of them take the planner's first answer on
// its grown library, which looks no second step ahead.
type study struct {
	testing.TB
	m      *model.Model
	frame  *frame
	terms  trail.Terms
	learn  []int // units to learn from
	judge  int   // units to play
	cores  int
	spoilt float64 // share of causes that are replaced by others
}

// truth draws a truth as a model.
func (s *study) truth(rng *rand.Rand) *model.Model {
	f := s.frame
	d := chance{rng, f}
	numbers := slices.Clone(f.ship)
	for i := range f.blocks {
		b := &f.blocks[i]
		row := f.row(numbers, i)
		switch b.Kind {
		case Healthy, Link:
			copy(row, d.dirichlet(10, row))
		case Prior:
			sum := 0.0
			for k := 1; k < len(row); k++ {
				row[k] *= math.Exp(0.5*rng.NormFloat64() - 0.125)
				sum += row[k]
			}
			for k := 1; k < len(row) && sum > 0.9; k++ {
				row[k] *= 0.9 / sum
			}
			row[0] = 1 - min(sum, 0.9)
		}
	}
	return s.write(numbers)
}

func (s *study) write(numbers []float64) *model.Model {
	kappa := make([]float64, len(s.frame.change))
	for c := range kappa {
		kappa[c] = s.frame.change[c].kappa
	}
	m, err := s.frame.write(numbers, kappa, digits, "x", "x")
	require.NoError(s, err)
	return m
}

// quick takes the planner's first answer.
type quick struct{ plan.Planner }

func (q quick) Next(b *sim.Bench) (plan.Step, error) {
	search := q.Start(b.Situation)
	for len(search.Proposals()) == 0 {
		search.Work(1)
	}
	return search.Proposals()[0].Step, nil
}

// play plays units of a truth by the planner that believes m.
func (s *study) play(m, truth *model.Model, seed uint64, units int, trails *[]*trail.Trail) []sim.Run {
	space, err := belief.NewSpace(m)
	require.NoError(s, err)
	true_, err := belief.NewSpace(truth)
	require.NoError(s, err)
	planner, err := plan.New(space, s.terms)
	require.NoError(s, err)
	for grown := planner.Start(plan.Situation{Belief: space.Prior(), Setup: m.Root, Tries: m.Untried()}); !grown.Work(100); {
	}
	problem := plan.NewProblem(space, s.terms)
	var memory sim.Memory
	var mu sync.Mutex
	g := sim.Games{Problem: problem, Truth: true_, Seed: seed, Units: units, Goroutines: s.cores,
		Policy: func() (sim.Policy, error) { return memory.Of(quick{planner}), nil }}
	if trails != nil {
		*trails = make([]*trail.Trail, units)
		g.Done = func(n int, _ sim.Run, events []trail.Event) error {
			t := sim.Trail(problem, fmt.Sprintf("unit-%d-%d", seed, n), slices.Clone(events))
			mu.Lock()
			(*trails)[n] = t
			mu.Unlock()
			return nil
		}
	}
	runs, err := g.Play()
	require.NoError(s, err)
	return runs
}

// learnt returns the model that trails give.
func (s *study) learnt(trails []*trail.Trail, rng *rand.Rand) *model.Model {
	l, err := New(s.m)
	require.NoError(s, err)
	for _, t := range trails {
		if s.spoilt > 0 {
			t = s.spoil(t, rng)
		}
		require.NoError(s, l.Add(t))
	}
	fit, err := l.Fit(Options{Cores: s.cores})
	require.NoError(s, err)
	m, err := fit.Model()
	require.NoError(s, err)
	return m
}

// spoil replaces the causes of some trails by other modes, drawn at random.
func (s *study) spoil(t *trail.Trail, rng *rand.Rand) *trail.Trail {
	other := *t
	other.Events = slices.Clone(t.Events)
	for i := range other.Events {
		e := &other.Events[i]
		if len(e.Causes) == 0 || rng.Float64() >= s.spoilt {
			continue
		}
		var wrong []model.ModeID
		for len(wrong) < len(e.Causes) {
			if id := s.m.Modes[rng.IntN(len(s.m.Modes))].ID; !slices.Contains(e.Causes, id) && !slices.Contains(wrong, id) {
				wrong = append(wrong, id)
			}
		}
		e.Causes = wrong
	}
	return &other
}

func costs(runs []sim.Run) []float64 {
	out := make([]float64, len(runs))
	for i, r := range runs {
		out[i] = r.Cost
	}
	return out
}

func meanOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// spreadOf returns the standard error of the mean of a - b.
func spreadOf(a, b []float64) float64 {
	m := meanOf(a) - meanOf(b)
	sum := 0.0
	for i := range a {
		sum += (a[i] - b[i] - m) * (a[i] - b[i] - m)
	}
	return math.Sqrt(sum/float64(len(a)-1)) / math.Sqrt(float64(len(a)))
}

// A tally adds truths up.
type tally struct {
	believe, know []float64
	learnt        map[int][]float64
}

// run plays one truth.
func (s *study) run(truth *model.Model, seed uint64, sum *tally) {
	rng := rand.New(rand.NewPCG(seed, 3))
	var trails []*trail.Trail
	s.play(s.m, truth, 1000+seed, slices.Max(s.learn), &trails)
	believe := costs(s.play(s.m, truth, 500_000+seed, s.judge, nil))
	know := believe
	if truth != s.m {
		know = costs(s.play(truth, truth, 500_000+seed, s.judge, nil))
	}
	sum.believe, sum.know = append(sum.believe, believe...), append(sum.know, know...)
	line := fmt.Sprintf("%s, truth %d: believing %.2f, knowing %.2f", s.m.ID, seed, meanOf(believe), meanOf(know))
	for _, n := range s.learn {
		c := costs(s.play(s.learnt(trails[:n], rng), truth, 500_000+seed, s.judge, nil))
		sum.learnt[n] = append(sum.learnt[n], c...)
		line += fmt.Sprintf(", learnt from %d %.2f", n, meanOf(c))
	}
	s.Log(line)
}

func (s *study) tell(name string, t *tally) {
	gap := meanOf(t.believe) - meanOf(t.know)
	line := fmt.Sprintf("%s %s: %d units; believing costs %.2f more than knowing %.2f (%.0f %%, standard error %.2f)", s.m.ID, name,
		len(t.believe), gap, meanOf(t.know), 100*gap/meanOf(t.know), spreadOf(t.believe, t.know))
	for _, n := range s.learn {
		won := meanOf(t.believe) - meanOf(t.learnt[n])
		line += fmt.Sprintf("; %d units win back %.2f ± %.2f", n, won, spreadOf(t.believe, t.learnt[n]))
		if gap > 0 {
			line += fmt.Sprintf(" (%.0f %%)", 100*won/gap)
		}
	}
	s.Log(line)
}

// TestLearningWinsBackWhatBelievingCosts on small models; PITWISE_LEARN_TRUTHS asks for so many truths
// of each shipped model, PITWISE_LEARN_FAMILY for one of them, PITWISE_LEARN_UNITS for so many units of
// evaluation (150), PITWISE_LEARN_FROM for so many to learn from (50, 200 and 1,000), PITWISE_LEARN_WHAT for some of the studies: truths, wrong, right; PITWISE_LEARN_SMALL
// for more small models (3).
func TestLearningWinsBackWhatBelievingCosts(t *testing.T) {
	if n, _ := strconv.Atoi(os.Getenv("PITWISE_LEARN_TRUTHS")); n > 0 {
		for _, e := range catalog.Models() {
			if only := os.Getenv("PITWISE_LEARN_FAMILY"); only == "" || only == e.ID {
				family(t, e.ID, n)
			}
		}
		return
	}
	sum := &tally{learnt: map[int][]float64{}}
	var last *study
	for i := range uint64(longer("PITWISE_LEARN_SMALL", 3)) {
		rng := rand.New(rand.NewPCG(i, 31))
		text, given := random.Small(rng)
		m := loaded(t, text)
		f, err := newFrame(m)
		require.NoError(t, err)
		terms := trail.Terms{MinuteValue: given.MinuteValue, Currency: "EUR", WorkingValue: given.WorkingValue, AsIsValue: given.AsIsValue, ComebackCost: given.ComebackCost}
		for j := range m.Tools {
			terms.Tools = append(terms.Tools, m.Tools[j].ID)
		}
		last = &study{TB: t, m: m, frame: f, terms: terms, learn: []int{50, 200}, judge: few(100), cores: 1}
		last.run(last.truth(rng), i, sum)
	}
	last.tell("and others, small", sum)
	gap := meanOf(sum.believe) - meanOf(sum.know)
	won := meanOf(sum.believe) - meanOf(sum.learnt[200])
	if testing.Short() {
		return // too few units to tell; that all of it can be played is what is tried
	}
	assert.Greater(t, gap, 0.0)
	assert.Greater(t, won, 0.2*gap)
}

// from is how many units are learnt from.
func from() []int {
	if n, err := strconv.Atoi(os.Getenv("PITWISE_LEARN_FROM")); err == nil && n > 0 {
		return []int{n}
	}
	return []int{50, 200, 1000}
}

// judged is how many units are played for each truth.
func judged() int {
	if n, err := strconv.Atoi(os.Getenv("PITWISE_LEARN_UNITS")); err == nil && n > 1 {
		return n
	}
	return 150
}

// family is the study of one shipped model.
func family(t *testing.T, id string, truths int) {
	m, err := catalog.Load(id)
	require.NoError(t, err)
	f, err := newFrame(m)
	require.NoError(t, err)
	terms := trail.Terms{MinuteValue: 0.25, Currency: "EUR", WorkingValue: 80, AsIsValue: 10, ComebackCost: 25}
	for i := range m.Tools {
		terms.Tools = append(terms.Tools, m.Tools[i].ID)
	}
	s := &study{TB: t, m: m, frame: f, terms: terms, learn: from(), judge: judged(), cores: 2}
	what := os.Getenv("PITWISE_LEARN_WHAT")
	if what == "" || strings.Contains(what, "truths") {
		sum := &tally{learnt: map[int][]float64{}}
		for i := range truths {
			s.run(s.truth(rand.New(rand.NewPCG(uint64(i), 10))), uint64(i), sum)
		}
		s.tell("with the causes that a repairer knows", sum)
	}
	s.learn = []int{200}
	if what == "" || strings.Contains(what, "wrong") {
		sum := &tally{learnt: map[int][]float64{}}
		s.spoilt = 0.5
		for i := range truths {
			s.run(s.truth(rand.New(rand.NewPCG(uint64(i), 10))), uint64(i), sum)
		}
		s.tell("with half of the causes wrong", sum)
		s.spoilt = 0
	}
	if what == "" || strings.Contains(what, "right") {
		sum := &tally{learnt: map[int][]float64{}}
		for i := range truths {
			s.run(s.m, 100+uint64(i), sum)
		}
		s.tell("with numbers that are right", sum)
		t.Logf("%s: learning from 200 units costs %.2f %% more, standard error %.2f", id, 100*(meanOf(sum.learnt[200])/meanOf(sum.believe)-1), 100*spreadOf(sum.learnt[200], sum.believe)/meanOf(sum.believe))
	}
}
