package oracle

import (
	"errors"
	"fmt"
	"slices"
	"sync"
)

var (
	// ErrImpossible means a result that has no probability under the belief before it.
	ErrImpossible = errors.New("oracle: a result that cannot be")
	// ErrNothingLeft means a change after which every hypothesis has too many faults.
	ErrNothingLeft = errors.New("oracle: a change left no hypothesis")
)

// Odds are a belief as it is printed.
type Odds struct {
	Sound  float64            `json:"sound"`
	Modes  map[string]float64 `json:"modes"`
	Faults []float64          `json:"faults"`
}

// A Line is what is printed of one event.
type Line struct {
	N           int                `json:"n"`
	Kind        string             `json:"kind"`
	Live        bool               `json:"live"`
	Belief      Odds               `json:"belief"`
	LogEvidence float64            `json:"log_evidence"`
	Dropped     float64            `json:"dropped"`
	Decibans    map[string]float64 `json:"decibans,omitzero"`
	Setup       string             `json:"setup"`
}

// A Doubt is the probability of one result given all the others.
type Doubt struct {
	N int     `json:"n"`
	P float64 `json:"p"`
}

// A Warning is an event that was done away from its setup, or a repair without the result
// that it asks for.
type Warning struct {
	N    int    `json:"n"`
	Text string `json:"text"`
}

// An Account is everything that is printed of a trail.
type Account struct {
	Lines    []Line
	Origin   Odds
	Doubts   []Doubt
	Warnings []Warning
	Next     map[string][]float64 // by test: the probability of each outcome, were it the next result

	Tries map[string]map[string]int // by repair and mode of its fixes: n of the next try, of repairs with a steadiness
	Seen  map[string]string         // by test: its last live outcome; no entry for none
}

// A walk goes along a trail. Its joint probability is over where the unit stands now
// and where it began: joint[now][began], sums to 1. Nil entries are 0.
type walk struct {
	m           *Model
	joint       [][]num
	began       int // how many beginnings are told apart
	urns        map[string]*urn
	logEvidence num
	dropped     num
}

func (m *Model) start(origins bool) *walk {
	w := &walk{m: m, began: 1, urns: map[string]*urn{}, logEvidence: zero(), dropped: m.dropped}
	if origins {
		w.began = len(m.kept)
	}
	w.joint = w.empty()
	for h := range m.kept {
		w.joint[h][h%w.began] = m.prior[h]
	}
	w.scale()
	return w
}

func (w *walk) empty() [][]num {
	out := make([][]num, len(w.m.kept))
	for h := range out {
		out[h] = make([]num, w.began)
	}
	return out
}

func (w *walk) total() num {
	total := zero()
	for _, row := range w.joint {
		for _, p := range row {
			if p != nil {
				total.Add(total, p)
			}
		}
	}
	return total
}

func (w *walk) scale() {
	total := w.total()
	for _, row := range w.joint {
		for i, p := range row {
			if p != nil {
				row[i] = quo(p, total)
			}
		}
	}
}

// now is the belief: the probability of each hypothesis.
func (w *walk) now() []num {
	out := make([]num, len(w.joint))
	for h, row := range w.joint {
		out[h] = zero()
		for _, p := range row {
			if p != nil {
				out[h].Add(out[h], p)
			}
		}
	}
	return out
}

// result takes a result in and returns its likelihood under each hypothesis.
func (w *walk) result(t *test, weights []num) ([]num, error) {
	old := w.urns[t.ID]
	if old == nil {
		old = newUrn(w.m)
	}
	next := old.with(w.m, t, weights)
	likelihood := make([]num, len(w.joint))
	for h, row := range w.joint {
		likelihood[h] = quo(next.joint[h], old.joint[h])
		for i, p := range row {
			if p != nil {
				row[i] = mul(p, likelihood[h])
			}
		}
	}
	evidence := w.total()
	if evidence.Sign() <= 0 {
		return nil, ErrImpossible
	}
	w.logEvidence = add(w.logEvidence, ln(evidence))
	w.urns[t.ID] = next
	w.scale()
	return likelihood, nil
}

// A fork is a hypothesis with a probability.
type fork struct {
	s hypothesis
	p num
}

// split lets every fork whose component is in one state go to another with probability p.
func split(forks []fork, p num, part int, from, to int8) []fork {
	var out []fork
	for _, f := range forks {
		if f.s[part] != from {
			out = append(out, f)
			continue
		}
		moved := slices.Clone(f.s)
		moved[part] = to
		out = append(out, fork{f.s, mul(f.p, sub(whole(1), p))}, fork{moved, mul(f.p, p)})
	}
	return out
}

// after lists where a change leads from s: every subset of the fixes that are there
// leaves, then every subset of the risks whose component is sound by then enters.
func (m *Model) after(s hypothesis, c effect) []fork {
	forks := []fork{{s, whole(1)}}
	for _, id := range m.modes() {
		if p, ok := c.fixes[id]; ok {
			part, mode := m.find(id)
			forks = split(forks, p, part, mode, 0)
		}
	}
	for _, id := range m.modes() {
		if p, ok := c.risks[id]; ok {
			part, mode := m.find(id)
			forks = split(forks, p, part, 0, mode)
		}
	}
	return forks
}

func (w *walk) change(c effect) error {
	moved := w.empty()
	kept := zero()
	for h, row := range w.joint {
		for _, f := range w.m.after(w.m.kept[h], c) {
			to, ok := w.m.index[f.s.key()]
			if !ok || f.p.Sign() == 0 {
				continue // cut
			}
			for j, p := range row {
				if p == nil || p.Sign() == 0 {
					continue
				}
				part := mul(p, f.p)
				kept.Add(kept, part)
				if moved[to][j] != nil {
					part = add(moved[to][j], part)
				}
				moved[to][j] = part
			}
		}
	}
	if kept.Sign() == 0 {
		return ErrNothingLeft
	}
	w.joint = moved
	w.dropped = add(w.dropped, sub(whole(1), kept))
	w.scale()
	for _, t := range w.m.Tests {
		for id := range t.Given {
			_, fixed := c.fixes[id]
			_, risked := c.risks[id]
			if (fixed || risked) && !t.Told {
				delete(w.urns, t.ID)
			}
		}
	}
	return nil
}

// An effect is a change as it acts on one unit: the chances of a repair that remembers are
// those of this try.
type effect struct{ fixes, risks map[string]num }

func plainly(c change) effect {
	e := effect{map[string]num{}, map[string]num{}}
	for id, p := range c.Fixes {
		e.fixes[id] = exact(p)
	}
	for id, p := range c.Risks {
		e.risks[id] = exact(p)
	}
	return e
}

// way lists the steps from a setup to another, one step of the tree at a time.
func (m *Model) way(from, to string) []change {
	var out []change
	below, goal := m.outward(from), m.outward(to)
	for _, id := range below {
		if slices.Contains(goal, id) {
			break
		}
		for _, s := range m.Setups {
			if s.ID == id {
				out = append(out, s.Leave)
			}
		}
	}
	for _, id := range slices.Backward(goal) {
		if slices.Contains(below, id) {
			continue
		}
		for _, s := range m.Setups {
			if s.ID == id {
				out = append(out, s.Enter)
			}
		}
	}
	return out
}

// A deed is a live change of a trail: a try of a repair, or a setup step (repair is nil).
type deed struct {
	repair *repair
	change change
}

// failures is n for the next try of a repair against a mode, after those deeds: its tries
// since the last deed that names the mode in its risks.
func failures(deeds []deed, r *repair, mode string) int {
	n := 0
	for _, d := range slices.Backward(deeds) {
		if _, ok := d.change.Risks[mode]; ok {
			break
		}
		if d.repair == r {
			n++
		}
	}
	return n
}

// A scene is what one event changes of a unit, and the setup it is in afterwards.
type scene struct {
	effects []effect
	setup   string
}

// scenes goes through the live changes of a trail.
func (m *Model) scenes(t *trail, live []bool) ([]scene, []deed) {
	var out []scene
	var deeds []deed
	setup := m.root()
	for i, e := range t.Events {
		var now scene
		switch {
		case !live[i]:
		case e.Kind == "setup":
			for _, c := range m.way(setup, e.Setup) {
				now.effects = append(now.effects, plainly(c))
				deeds = append(deeds, deed{nil, c})
			}
			setup = e.Setup
		case e.Kind == "repair":
			r := m.repair(e.Repair)
			act := plainly(r.change)
			if kappa := exact(r.Steadiness); r.Steadiness > 0 {
				for id, p := range act.fixes {
					act.fixes[id] = quo(mul(kappa, p), add(kappa, whole(failures(deeds, r, id))))
				}
			}
			now.effects = append(now.effects, act)
			deeds = append(deeds, deed{r, r.change})
		}
		now.setup = setup
		out = append(out, now)
	}
	return out, deeds
}

func (m *Model) odds(belief []num) Odds {
	modes := map[string]num{}
	for _, id := range m.modes() {
		modes[id] = zero()
	}
	faults := make([]num, m.MostFaults+1)
	for i := range faults {
		faults[i] = zero()
	}
	for h, p := range belief {
		s := m.kept[h]
		faults[s.faults()].Add(faults[s.faults()], p)
		for _, id := range m.names(s) {
			modes[id].Add(modes[id], p)
		}
	}
	out := Odds{Sound: float(faults[0]), Modes: map[string]float64{}, Faults: floats(faults)}
	for id, p := range modes {
		out.Modes[id] = float(p)
	}
	return out
}

// lnTen is worked out once.
var lnTen = sync.OnceValue(func() num { return ln(whole(10)) })

// decibans weighs a result for each mode, from the belief before it and the result's
// likelihood.
func (m *Model) decibans(before, likelihood []num) map[string]float64 {
	out := map[string]float64{}
	joint := make([]num, len(before))
	for h, p := range before {
		joint[h] = mul(p, likelihood[h])
	}
	for _, id := range m.modes() {
		part, mode := m.find(id)
		present, absent := zero(), zero() // belief
		with, without := zero(), zero()   // belief times likelihood
		for h, p := range before {
			if m.kept[h][part] == mode {
				present.Add(present, p)
				with.Add(with, joint[h])
			} else {
				absent.Add(absent, p)
				without.Add(without, joint[h])
			}
		}
		if present.Sign() == 0 || absent.Sign() == 0 {
			continue
		}
		factor := quo(quo(with, present), quo(without, absent))
		out[id] = float(mul(whole(10), quo(ln(factor), lnTen())))
	}
	return out
}

// live tells which events have effect: those that no live void names.
func (t *trail) live() []bool {
	out := make([]bool, len(t.Events))
	for i := range out {
		out[i] = true
	}
	for i, e := range slices.Backward(t.Events) {
		if e.Kind == "void" && out[i] {
			out[e.Of-1] = false
		}
	}
	return out
}

// told reports whether an event is a result of a told test.
func (m *Model) told(e event) bool { return e.Kind == "result" && m.test(e.Test).Told }

// do takes one event in, and returns the likelihood of a result under each hypothesis.
func (w *walk) do(e event, s scene) (likelihood []num, err error) {
	if e.Kind == "result" {
		likelihood, err = w.result(w.m.test(e.Test), w.m.test(e.Test).seen(e))
	}
	for _, c := range s.effects {
		if err == nil {
			err = w.change(c)
		}
	}
	if err != nil {
		return nil, fmt.Errorf("event %d: %w", e.N, err)
	}
	return likelihood, nil
}

// seen is the weight of a result on each outcome.
func (t *test) seen(e event) []num {
	if e.Reading != nil {
		return t.weights(*e.Reading)
	}
	return t.named(e.Outcome)
}

// play goes along the first n events of a trail: told results first, then the others,
// without those that are not live and without event omit.
func (m *Model) play(t *trail, live []bool, scenes []scene, n, omit int, origins bool) (*walk, error) {
	w := m.start(origins)
	for _, first := range []bool{true, false} {
		for i, e := range t.Events[:n] {
			if !live[i] || e.N == omit || m.told(e) != first {
				continue
			}
			if _, err := w.do(e, scenes[i]); err != nil {
				return nil, err
			}
		}
	}
	return w, nil
}

// shift compares the odds of each mode in two beliefs, in decibans.
func (m *Model) shift(before, after []num) map[string]float64 {
	out := map[string]float64{}
	for _, id := range m.modes() {
		part, mode := m.find(id)
		var odds [2]num
		possible := true
		for i, belief := range [][]num{before, after} {
			present, absent := zero(), zero()
			for h, p := range belief {
				if m.kept[h][part] == mode {
					present.Add(present, p)
				} else {
					absent.Add(absent, p)
				}
			}
			if present.Sign() == 0 || absent.Sign() == 0 {
				possible = false
				break
			}
			odds[i] = quo(present, absent)
		}
		if possible {
			out[id] = float(mul(whole(10), quo(ln(quo(odds[1], odds[0])), lnTen())))
		}
	}
	return out
}

// A Part is a part of an account that takes time and can be left out. What is left out
// is the zero value.
type Part int

const (
	Doubts Part = 1 << iota // one replay for each result
	Origin                  // the square of the number of hypotheses
	Next                    // every test under every hypothesis
	Whole  = Doubts | Origin | Next
)

// Replay gives the account of a trail under a model.
func Replay(modelText, trailText []byte, parts Part) (*Account, error) {
	m, err := Load(modelText)
	if err != nil {
		return nil, err
	}
	t, err := loadTrail(trailText)
	if err != nil {
		return nil, err
	}
	return m.replay(t, parts)
}

func (m *Model) replay(t *trail, parts Part) (*Account, error) {
	live := t.live()
	scenes, deeds := m.scenes(t, live)
	w := m.start(parts&Origin != 0)
	a := &Account{Warnings: []Warning{}, Tries: map[string]map[string]int{}, Seen: map[string]string{}}
	a.Lines = append(a.Lines, Line{Kind: "start", Live: true, Belief: m.odds(w.now()), Dropped: float(w.dropped), Setup: m.root()})
	for i, e := range t.Events {
		line := Line{N: e.N, Kind: e.Kind, Live: live[i], Setup: scenes[i].setup}
		switch before := w.now(); {
		case live[i] && m.told(e):
			var err error
			if w, err = m.play(t, live, scenes, i+1, 0, parts&Origin != 0); err != nil {
				return nil, err
			}
			line.Decibans = m.shift(before, w.now())
		case live[i]:
			likelihood, err := w.do(e, scenes[i])
			if err != nil {
				return nil, err
			}
			if likelihood != nil {
				line.Decibans = m.decibans(before, likelihood)
			}
		}
		line.Belief, line.LogEvidence, line.Dropped = m.odds(w.now()), float(w.logEvidence), float(w.dropped)
		a.Lines = append(a.Lines, line)
		if live[i] {
			a.look(m, e, line.Setup)
		}
	}
	for _, r := range m.Repairs {
		if r.Steadiness > 0 && len(r.Fixes) > 0 {
			a.Tries[r.ID] = map[string]int{}
			for id := range r.Fixes {
				a.Tries[r.ID][id] = failures(deeds, r, id)
			}
		}
	}

	if parts&Origin != 0 {
		a.Origin = m.odds(w.intake())
	}
	if parts&Doubts != 0 {
		var err error
		if a.Doubts, err = m.doubts(t, live, scenes, w.logEvidence); err != nil {
			return nil, err
		}
	}
	if parts&Next != 0 {
		a.Next = w.next()
	}
	return a, nil
}

// look notes what a live event shows, and warns of one that is out of place.
func (a *Account) look(m *Model, e event, setup string) {
	at := setup
	switch e.Kind {
	case "result":
		one := m.test(e.Test)
		if !one.Told {
			at = one.At
		}
		weights := one.seen(e)
		best := 0
		for k := range weights { // equal within 1e-9: a border has half on each side, but for far tails
			if mul(weights[k], exact(1-1e-9)).Cmp(weights[best]) > 0 {
				best = k
			}
		}
		a.Seen[one.ID] = one.Outcomes[best].ID
	case "repair":
		r := m.repair(e.Repair)
		at = r.At
		met := r.OnlyAfter == nil
		if !met {
			for _, entry := range r.OnlyAfter.Any {
				last, ok := a.Seen[entry.Test]
				met = met || ok && slices.Contains(entry.Outcomes, last)
			}
		}
		if !met {
			a.Warnings = append(a.Warnings, Warning{e.N, "done without a result that it asks for"})
		}
	}
	if at != setup {
		a.Warnings = append(a.Warnings, Warning{e.N, fmt.Sprintf("belongs to setup %s, done in %s", at, setup)})
	}
}

// intake is the probability of each hypothesis at intake.
func (w *walk) intake() []num {
	out := make([]num, w.began)
	for h := range out {
		out[h] = zero()
	}
	for _, row := range w.joint {
		for h, p := range row {
			if p != nil {
				out[h].Add(out[h], p)
			}
		}
	}
	return out
}

// next gives for each test the probability of each outcome, were it the next result.
func (w *walk) next() map[string][]float64 {
	out := map[string][]float64{}
	belief := w.now()
	for _, one := range w.m.Tests {
		old := w.urns[one.ID]
		if old == nil {
			old = newUrn(w.m)
		}
		for _, o := range one.Outcomes {
			next := old.with(w.m, one, one.named(o.ID))
			p := zero()
			for h := range belief {
				p.Add(p, mul(belief[h], quo(next.joint[h], old.joint[h])))
			}
			out[one.ID] = append(out[one.ID], float(p))
		}
	}
	return out
}

// doubts leaves out one live result after the other and plays the trail again.
func (m *Model) doubts(t *trail, live []bool, scenes []scene, logEvidence num) ([]Doubt, error) {
	out := []Doubt{}
	for i, e := range t.Events {
		if !live[i] || e.Kind != "result" {
			continue
		}
		without, err := m.play(t, live, scenes, len(t.Events), e.N, false)
		if err != nil {
			return nil, err
		}
		out = append(out, Doubt{e.N, float(exp(sub(logEvidence, without.logEvidence)))})
	}
	return out, nil
}
