package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	front "pitwise/engine/bench"
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
// evenings, or from these with half of the causes wrong. All play the same units. To be in time all of
// them search as plan.Planner's Quick does.
type study struct {
	testing.TB
	m       *model.Model
	frame   *frame
	terms   trail.Terms
	learn   []int // units to learn from
	wrong   int   // units to learn from with half of the causes wrong; 0 for none
	best    int   // units by which heldOut tells how much is left to learn from them; 0 for none
	draws   int   // how many times heldOut learns from as many units; 1 if it is 0
	known   int   // units to learn from with all causes written down, of those that were written off and come back too; 0 for none
	judge   int   // units to play
	cores   int
	shipped *bench // that believes the shipped numbers
}

// A bench plays units and believes one model.
type bench struct {
	problem *plan.Problem
	planner plan.Planner
	memory  sim.Memory
}

func (s *study) bench(m *model.Model) *bench {
	if m == s.m && s.shipped != nil {
		return s.shipped
	}
	space, err := belief.NewSpace(m)
	require.NoError(s, err)
	planner, err := plan.New(space, s.terms)
	require.NoError(s, err)
	b := &bench{problem: plan.NewProblem(space, s.terms), planner: planner}
	if m == s.m {
		s.shipped = b
	}
	return b
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
	kappa := s.frame.kappas()
	m, err := s.frame.write(numbers, kappa, digits, "x", "x")
	require.NoError(s, err)
	return m
}

// play plays units of a truth on a bench that believes m.
func (s *study) play(m, truth *model.Model, seed uint64, units int, trails *[]*trail.Trail) []float64 {
	b := s.bench(m)
	space, err := belief.NewSpace(truth)
	require.NoError(s, err)
	g := sim.Games{Problem: b.problem, Truth: space, Seed: seed, Units: units, Goroutines: s.cores,
		Policy: func() (sim.Policy, error) { return b.memory.Of(sim.Quick{Planner: b.planner}), nil }}
	if trails != nil {
		*trails = make([]*trail.Trail, units)
		g.Done = func(n int, _ sim.Run, events []trail.Event) error {
			(*trails)[n] = sim.Trail(b.problem, fmt.Sprintf("unit-%d-%d", seed, n), slices.Clone(events))
			return nil
		}
	}
	runs, err := g.Play()
	require.NoError(s, err)
	costs := make([]float64, len(runs))
	for i, r := range runs {
		costs[i] = r.Cost
	}
	return costs
}

// fit learns from trails.
func (s *study) fit(trails []*trail.Trail) *Fit {
	l, err := New(s.m)
	require.NoError(s, err)
	for _, t := range trails {
		require.NoError(s, l.Add(t))
	}
	fit, err := l.Fit(Options{Cores: s.cores})
	require.NoError(s, err)
	return fit
}

// learnt returns the model that trails give.
func (s *study) learnt(trails []*trail.Trail) *model.Model {
	m, err := s.fit(trails).Model()
	require.NoError(s, err)
	return m
}

// heldOutUnits is how many evenings heldOut judges by.
const heldOutUnits = 300

// A heldOut is by how many nats a unit evenings that were not learnt from are more probable than by the shipped
// numbers: by the truth, and by what other evenings taught.
type heldOut struct {
	truth  float64
	learnt []float64 // from so many units, as study.learn has them: the mean of the draws
	wrong  float64   // from study.wrong units with half of the causes wrong
}

// heldOut tells what learning is worth without a planner in between, to which chance adds much less. The evenings
// that are judged by are the same for all, and so are the habits of the bench. Where there are evenings
// enough, draws says how many times, each from others, is learnt.
func (s *study) heldOut(truth *model.Model, seed uint64) (sum heldOut) {
	var trails []*trail.Trail
	most := max(slices.Max(s.learn), s.wrong)
	s.play(s.m, truth, 1000+seed, most+heldOutUnits, &trails)
	of, err := newFrame(truth)
	require.NoError(s, err)
	kappa := s.frame.kappas()
	last := s.fit(trails[:most])
	shipped := s.logs(last.withHabits(s.frame.ship), kappa, trails[most:])
	s.Logf("%s, truth %d, nats a unit more than %.3f by the shipped numbers", s.m.ID, seed, meanOf(shipped))
	tell := func(what string, numbers, kappa []float64) float64 {
		now := s.logs(last.withHabits(numbers), kappa, trails[most:])
		s.Logf("  %s %.3f ± %.3f", what, meanOf(now)-meanOf(shipped), spreadOf(now, shipped))
		return meanOf(now) - meanOf(shipped)
	}
	sum.truth = tell("by the truth", of.ship, kappa)
	drawn := func(n int, what string, from func(trails []*trail.Trail) []*trail.Trail) float64 {
		draws := min(max(s.draws, 1), most/n)
		all := 0.0
		for i := range draws {
			fit := last
			if n != most || from != nil {
				part := trails[i*n : (i+1)*n]
				if from != nil {
					part = from(part)
				}
				fit = s.fit(part)
			}
			all += tell(fmt.Sprintf("learnt from %d%s with trust %.1f", n, what, fit.Trust), fit.numbers, fit.kappa)
		}
		return all / float64(draws)
	}
	for _, n := range s.learn {
		sum.learnt = append(sum.learnt, drawn(n, "", nil))
	}
	if s.best > 0 {
		best := s.predictive(trails[:s.best], last, trails[most:])
		s.Logf("  by all that %d units leave possible %.3f ± %.3f", s.best, meanOf(best)-meanOf(shipped), spreadOf(best, shipped))
	}
	if s.wrong > 0 {
		rng := rand.New(rand.NewPCG(seed, 3))
		sum.wrong = drawn(s.wrong, ", half of the causes wrong,", func(t []*trail.Trail) []*trail.Trail { return s.spoil(t, rng) })
	}
	return sum
}

// predictive returns the logs of how probable trails are by all numbers that other trails leave possible, each
// as far as it is probable: no way to choose numbers does better on average over the truths that the weights of sources stand for.
// It is taken over draws from the posterior.
func (s *study) predictive(from []*trail.Trail, habits *Fit, trails []*trail.Trail) []float64 {
	fit := s.fit(from)
	sums := make([]float64, len(trails))
	most := make([]float64, len(trails))
	draws := 0
	fit.Trust, fit.alpha = 1, fit.bySources()
	require.NoError(s, fit.Intervals(Sweeps{Warm: 50, Keep: 400, Seed: 1, Cores: s.cores, each: func(numbers []float64) {
		if draws++; draws%4 != 0 { // neighbours are much alike
			return
		}
		for i, log := range s.logs(habits.withHabits(numbers), fit.kappa, trails) {
			if draws == 4 {
				most[i] = log
			}
			sums[i] += math.Exp(log - most[i])
		}
	}}))
	for i, sum := range sums {
		sums[i] = most[i] + math.Log(sum/float64(draws/4))
	}
	return sums
}

// logs returns how probable each trail is, given that its unit was brought in: nats.
func (s *study) logs(numbers, kappa []float64, trails []*trail.Trail) []float64 {
	f := s.frame
	used := make([]bool, len(f.laws))
	for t := range used {
		used[t] = true
	}
	r := f.newRound(numbers, kappa, used, nil)
	sm := r.smoother()
	sm.follow(nil)
	logs := make([]float64, len(trails))
	for i, t := range trails {
		shape, err := f.shapeOf(t)
		require.NoError(s, err)
		stages, err := f.stages(shape)
		require.NoError(s, err)
		log, ok := sm.smooth(stages, nil)
		require.True(s, ok)
		logs[i] = log - math.Log(r.in)
	}
	return logs
}

// confess writes the causes of all trails down.
func (s *study) confess(trails []*trail.Trail, truth *model.Model, seed uint64) []*trail.Trail {
	space, err := belief.NewSpace(truth)
	require.NoError(s, err)
	var all []*trail.Trail
	for n, t := range trails {
		other := *t
		other.Events = slices.Clone(t.Events)
		u, _ := sim.Draw(space, seed, n)
		for i := range other.Events {
			if e := &other.Events[i]; e.Kind == trail.End {
				e.Causes = nil
				for _, mode := range u.Origin() {
					e.Causes = append(e.Causes, s.m.Modes[mode].ID)
				}
			}
		}
		all = append(all, &other)
	}
	return all
}

// spoil replaces half of the causes of trails by other modes, drawn at random.
func (s *study) spoil(trails []*trail.Trail, rng *rand.Rand) []*trail.Trail {
	var all []*trail.Trail
	for _, t := range trails {
		other := *t
		other.Events = slices.Clone(t.Events)
		for i := range other.Events {
			e := &other.Events[i]
			if len(e.Causes) == 0 || rng.Float64() >= 0.5 {
				continue
			}
			var wrong []model.ModeID
			for len(wrong) < min(len(e.Causes), len(s.m.Modes)-len(e.Causes)) {
				if id := s.m.Modes[rng.IntN(len(s.m.Modes))].ID; !slices.Contains(e.Causes, id) && !slices.Contains(wrong, id) {
					wrong = append(wrong, id)
				}
			}
			e.Causes = wrong
		}
		all = append(all, &other)
	}
	return all
}

// nearSeed is of the units that near judges by.
const nearSeed = 600_000

// near tells what it costs to believe not the right numbers but such as are off by one per cent (each number
// times a lognormal one of spread 0.01), or learnt from the first of the counts of units: all play the same units. What
// one per cent moves is how finely money can tell numbers apart. Beside it stands by how many nats a unit the evenings
// of the right numbers are more probable: chance adds much less there. right holds what the right numbers
// cost, and those evenings, from one call to the next.
func (s *study) near(n uint64, right *[]float64, trails *[]*trail.Trail) {
	if *right == nil {
		*right = s.play(s.m, s.m, nearSeed, s.judge, trails)
		s.Logf("%s, right numbers: %d units cost %.2f", s.m.ID, s.judge, meanOf(*right))
	}
	logs := s.logs(s.frame.ship, s.frame.kappas(), *trails)
	tell := func(what string, m *model.Model) {
		costs := s.play(m, s.m, nearSeed, s.judge, nil)
		f, err := newFrame(m)
		require.NoError(s, err)
		other := s.logs(f.ship, f.kappas(), *trails)
		same := 0
		for i := range costs {
			if costs[i] == (*right)[i] {
				same++
			}
		}
		s.Logf("%s, %d: %s costs %.2f ± %.2f more (%.1f ± %.1f %%), as much on %d of %d; nats a unit %.4f ± %.4f", s.m.ID, n, what,
			meanOf(costs)-meanOf(*right), spreadOf(costs, *right), 100*(meanOf(costs)/meanOf(*right)-1), 100*spreadOf(costs, *right)/meanOf(*right),
			same, len(costs), meanOf(other)-meanOf(logs), spreadOf(other, logs))
	}
	rng := rand.New(rand.NewPCG(n, 20))
	numbers := slices.Clone(s.frame.ship)
	for i := range numbers {
		numbers[i] *= math.Exp(0.01 * rng.NormFloat64())
	}
	tell("off by one per cent", s.write(s.frame.whole(numbers)))
	var from []*trail.Trail
	s.play(s.m, s.m, 1000+n, s.learn[0], &from)
	tell(fmt.Sprintf("learnt from %d", s.learn[0]), s.learnt(from))
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
	believe, know, wrong, known []float64
	learnt                      map[int][]float64
}

func newTally() *tally { return &tally{learnt: map[int][]float64{}} }

// run plays one truth.
func (s *study) run(truth *model.Model, seed uint64, sum *tally) {
	var trails []*trail.Trail
	s.play(s.m, truth, 1000+seed, max(slices.Max(s.learn), s.wrong, s.known), &trails)
	judge := func(m *model.Model) []float64 { return s.play(m, truth, 500_000+seed, s.judge, nil) }
	believe, know := judge(s.m), judge(truth)
	sum.believe, sum.know = append(sum.believe, believe...), append(sum.know, know...)
	line := fmt.Sprintf("%s, truth %d: believing %.2f, knowing %.2f", s.m.ID, seed, meanOf(believe), meanOf(know))
	for _, n := range s.learn {
		c := judge(s.learnt(trails[:n]))
		sum.learnt[n] = append(sum.learnt[n], c...)
		line += fmt.Sprintf(", learnt from %d %.2f", n, meanOf(c))
	}
	if s.wrong > 0 {
		c := judge(s.learnt(s.spoil(trails[:s.wrong], rand.New(rand.NewPCG(seed, 3)))))
		sum.wrong = append(sum.wrong, c...)
		line += fmt.Sprintf(", from %d with half of the causes wrong %.2f", s.wrong, meanOf(c))
	}
	if s.known > 0 {
		c := judge(s.learnt(s.confess(trails[:s.known], truth, 1000+seed)))
		sum.known = append(sum.known, c...)
		line += fmt.Sprintf(", from %d with all causes known %.2f", s.known, meanOf(c))
	}
	s.Log(line)
}

func (s *study) tell(name string, t *tally) {
	gap := meanOf(t.believe) - meanOf(t.know)
	line := fmt.Sprintf("%s %s: %d units; believing costs %.2f ± %.2f more than knowing %.2f (%.0f %%)", s.m.ID, name,
		len(t.believe), gap, spreadOf(t.believe, t.know), meanOf(t.know), 100*gap/meanOf(t.know))
	won := func(what string, cost []float64) {
		w := meanOf(t.believe) - meanOf(cost)
		line += fmt.Sprintf("; %s win back %.2f ± %.2f", what, w, spreadOf(t.believe, cost))
		if gap > 0 {
			line += fmt.Sprintf(" (%.0f ± %.0f %%)", 100*w/gap, 100*t.shareError(cost))
		}
	}
	for _, n := range s.learn {
		won(fmt.Sprintf("%d units", n), t.learnt[n])
	}
	if s.wrong > 0 {
		won(fmt.Sprintf("%d with half of the causes wrong", s.wrong), t.wrong)
	}
	if s.known > 0 {
		won(fmt.Sprintf("%d with all causes known", s.known), t.known)
	}
	s.Log(line)
}

// shareError is the standard error of the share of the gap that is won back, the ratio of two means,
// by the delta method: of won - share*gap, unit by unit, over the gap.
func (t *tally) shareError(cost []float64) float64 {
	gap := meanOf(t.believe) - meanOf(t.know)
	share := (meanOf(t.believe) - meanOf(cost)) / gap
	rest := make([]float64, len(cost))
	for i := range rest {
		rest[i] = t.believe[i] - cost[i] - share*(t.believe[i]-t.know[i])
	}
	return spreadOf(rest, make([]float64, len(rest))) / gap
}

// TestLearningWinsBackWhatBelievingCosts on small models; PITWISE_LEARN_TRUTHS asks for so many truths
// of each shipped model, from the one that PITWISE_LEARN_FIRST names on (0). Then PITWISE_LEARN_FAMILY
// chooses one of the models, PITWISE_LEARN_UNITS how many units of evaluation (150),
// PITWISE_LEARN_FROM from how many units is learnt (50,200,1000), PITWISE_LEARN_WHAT the studies
// (truths,wrong,known,right; or log: without a planner, how probable held-out evenings are, of PITWISE_LEARN_DRAWS
// draws of units to learn from, log,wrong, and log,best for all that
// the first of the counts of units leaves possible; or near: how finely
// money tells numbers that are nearly right apart). PITWISE_LEARN_SMALL asks for more small models (3).
func TestLearningWinsBackWhatBelievingCosts(t *testing.T) {
	if n, _ := strconv.Atoi(os.Getenv("PITWISE_LEARN_TRUTHS")); n > 0 {
		first, _ := strconv.Atoi(os.Getenv("PITWISE_LEARN_FIRST"))
		families(t, first, first+n)
		return
	}
	sum := newTally()
	var last *study
	var byTruth, won, lost float64 // nats a unit
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
		truth := last.truth(rng)
		last.run(truth, i, sum)
		last.wrong = 200
		off := last.heldOut(truth, i)
		assert.Greater(t, off.wrong, 0.0, "half of the causes wrong is no worse than not to learn")
		byTruth += off.truth
		won += off.learnt[1]
		last.wrong = 0
		right := last.heldOut(m, i)
		assert.Zero(t, right.truth, "the truth is what was shipped")
		lost -= right.learnt[1]
	}
	last.tell("and others, small", sum)
	gap := meanOf(sum.believe) - meanOf(sum.know)
	if testing.Short() {
		return // too few units to tell; that all of it can be played is what is tried
	}
	assert.Greater(t, gap, 0.0)
	t.Logf("200 units win back %.3f of %.3f nats a unit; with right numbers they lose %.3f", won, byTruth, lost)
	assert.Greater(t, won, 0.5*byTruth)
	assert.Less(t, lost, 0.1*byTruth)
}

// asked returns the numbers that a variable lists, or what is used without.
func asked(name string, without ...int) []int {
	var all []int
	for _, x := range strings.Split(os.Getenv(name), ",") {
		if n, err := strconv.Atoi(x); err == nil && n > 1 {
			all = append(all, n)
		}
	}
	if all == nil {
		return without
	}
	return all
}

// families are the studies of the shipped models, truth by truth, so that one that is stopped has
// something to say of each.
func families(t *testing.T, first, end int) {
	wants := func(what string) bool {
		all := os.Getenv("PITWISE_LEARN_WHAT")
		return all == "" || strings.Contains(all, what)
	}
	var all []*study
	for _, e := range catalog.Models() {
		if only := os.Getenv("PITWISE_LEARN_FAMILY"); only == "" || only == e.ID {
			all = append(all, shippedStudy(t, e.ID))
		}
	}
	truths, right := make([]*tally, len(all)), make([]*tally, len(all))
	known, evenings := make([][]float64, len(all)), make([][]*trail.Trail, len(all))
	nats := make([][]heldOut, len(all))
	for i := range all {
		truths[i], right[i] = newTally(), newTally()
	}
	for n := first; n < end; n++ {
		for i, s := range all {
			if strings.Contains(os.Getenv("PITWISE_LEARN_WHAT"), "log") {
				truth := s.m // of the first: numbers that are right
				if n > 0 {
					truth = s.truth(rand.New(rand.NewPCG(uint64(n), 10)))
				}
				if s.draws = asked("PITWISE_LEARN_DRAWS", 1)[0]; strings.Contains(os.Getenv("PITWISE_LEARN_WHAT"), "wrong") {
					s.wrong = 200
				}
				if wants("best") {
					s.best = s.learn[0]
				}
				nats[i] = append(nats[i], s.heldOut(truth, uint64(n)))
				s.tellHeldOut(nats[i])
				continue
			}
			if strings.Contains(os.Getenv("PITWISE_LEARN_WHAT"), "near") {
				s.near(uint64(n), &known[i], &evenings[i])
				continue
			}
			if wants("truths") {
				if wants("wrong") {
					s.wrong = 200
				}
				if wants("known") {
					s.known = 200
				}
				s.run(s.truth(rand.New(rand.NewPCG(uint64(n), 10))), uint64(n), truths[i])
				s.tell("with the causes that a repairer knows", truths[i])
			}
			if wants("right") {
				exact := *s
				exact.learn, exact.wrong, exact.known = []int{200}, 0, 0
				exact.run(s.m, 100+uint64(n), right[i])
				c, b := right[i].learnt[200], right[i].believe
				t.Logf("%s with numbers that are right: %d units; learning from 200 costs %.2f ± %.2f %% more", s.m.ID, len(b), 100*(meanOf(c)/meanOf(b)-1), 100*spreadOf(c, b)/meanOf(b))
			}
		}
	}
}

// tellHeldOut tells the shares of what there is to win that learning wins, over all truths so far.
func (s *study) tellHeldOut(all []heldOut) {
	truth, wrong := 0.0, 0.0
	learnt := make([]float64, len(s.learn))
	for _, h := range all {
		truth += h.truth
		for i, x := range h.learnt {
			learnt[i] += x
		}
		wrong += h.wrong
	}
	line := fmt.Sprintf("%s, %d truths: %.3f nats a unit to win;", s.m.ID, len(all), truth/float64(len(all)))
	share := func(what string, x float64) {
		line += fmt.Sprintf(" %s %.3f", what, x/float64(len(all)))
		if truth > 0 {
			line += fmt.Sprintf(" (%.0f %%)", 100*x/truth)
		}
	}
	for i, n := range s.learn {
		share(fmt.Sprint(n), learnt[i])
	}
	if s.wrong > 0 {
		share("half of the causes wrong", wrong)
	}
	s.Log(line)
}

// shippedStudy is the study of one shipped model.
func shippedStudy(t *testing.T, id string) *study {
	m, err := catalog.Load(id)
	require.NoError(t, err)
	f, err := newFrame(m)
	require.NoError(t, err)
	return &study{TB: t, m: m, frame: f, terms: front.DefaultTerms(m), learn: asked("PITWISE_LEARN_FROM", 50, 200, 1000),
		judge: asked("PITWISE_LEARN_UNITS", 150)[0], cores: runtime.GOMAXPROCS(0)}
}
