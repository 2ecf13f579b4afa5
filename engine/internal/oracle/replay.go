package oracle

import (
	"errors"
	"fmt"
	"slices"
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

// A Warning is an event that was done away from its setup.
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
	setup       string
}

func (m *Model) start(origins bool) *walk {
	w := &walk{m: m, began: 1, urns: map[string]*urn{}, logEvidence: zero(), dropped: m.dropped, setup: m.root()}
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
				total = add(total, p)
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
				out[h] = add(out[h], p)
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
func split(forks []fork, p float64, part int, from, to int8) []fork {
	var out []fork
	for _, f := range forks {
		if f.s[part] != from {
			out = append(out, f)
			continue
		}
		moved := slices.Clone(f.s)
		moved[part] = to
		out = append(out, fork{f.s, mul(f.p, sub(whole(1), exact(p)))}, fork{moved, mul(f.p, exact(p))})
	}
	return out
}

// after lists where a change leads from s: every subset of the fixes that are there
// leaves, then every subset of the risks whose component is sound by then enters.
func (m *Model) after(s hypothesis, c change) []fork {
	forks := []fork{{s, whole(1)}}
	for _, id := range m.modes() {
		if p, ok := c.Fixes[id]; ok {
			part, mode := m.find(id)
			forks = split(forks, p, part, mode, 0)
		}
	}
	for _, id := range m.modes() {
		if p, ok := c.Risks[id]; ok {
			part, mode := m.find(id)
			forks = split(forks, p, part, 0, mode)
		}
	}
	return forks
}

func (w *walk) change(c change) error {
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
				kept = add(kept, part)
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
			_, fixed := c.Fixes[id]
			_, risked := c.Risks[id]
			if fixed || risked {
				delete(w.urns, t.ID)
			}
		}
	}
	return nil
}

// go to a setup, one step of the tree at a time.
func (w *walk) move(to string) error {
	from, goal := w.m.outward(w.setup), w.m.outward(to)
	for _, id := range from {
		if slices.Contains(goal, id) {
			break
		}
		for _, s := range w.m.Setups {
			if s.ID == id {
				if err := w.change(s.Leave); err != nil {
					return err
				}
			}
		}
	}
	for _, id := range slices.Backward(goal) {
		if slices.Contains(from, id) {
			continue
		}
		for _, s := range w.m.Setups {
			if s.ID == id {
				if err := w.change(s.Enter); err != nil {
					return err
				}
			}
		}
	}
	w.setup = to
	return nil
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
		faults[s.faults()] = add(faults[s.faults()], p)
		for _, id := range m.names(s) {
			modes[id] = add(modes[id], p)
		}
	}
	out := Odds{Sound: float(faults[0]), Modes: map[string]float64{}, Faults: floats(faults)}
	for id, p := range modes {
		out.Modes[id] = float(p)
	}
	return out
}

// decibans weighs a result for each mode, from the belief before it and the result's
// likelihood.
func (m *Model) decibans(before, likelihood []num) map[string]float64 {
	out := map[string]float64{}
	for _, id := range m.modes() {
		part, mode := m.find(id)
		present, absent := zero(), zero() // belief
		with, without := zero(), zero()   // belief times likelihood
		for h, p := range before {
			if m.kept[h][part] == mode {
				present = add(present, p)
				with = add(with, mul(p, likelihood[h]))
			} else {
				absent = add(absent, p)
				without = add(without, mul(p, likelihood[h]))
			}
		}
		if present.Sign() == 0 || absent.Sign() == 0 {
			continue
		}
		factor := quo(quo(with, present), quo(without, absent))
		out[id] = float(mul(whole(10), quo(ln(factor), ln(whole(10)))))
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

// play goes along the trail without the events that are not live and without event
// omit, and tells of each step.
func (m *Model) play(t *trail, live []bool, omit int, origins bool, tell func(w *walk, e event, likelihood, before []num)) (*walk, error) {
	w := m.start(origins)
	for i, e := range t.Events {
		var likelihood, before []num
		var err error
		if live[i] && e.N != omit {
			switch e.Kind {
			case "result":
				one := m.test(e.Test)
				weights := one.named(e.Outcome)
				if e.Reading != nil {
					weights = one.weights(*e.Reading)
				}
				before = w.now()
				likelihood, err = w.result(one, weights)
			case "setup":
				err = w.move(e.Setup)
			case "repair":
				for _, r := range m.Repairs {
					if r.ID == e.Repair {
						err = w.change(r.change)
					}
				}
			}
		}
		if err != nil {
			return nil, fmt.Errorf("event %d: %w", e.N, err)
		}
		if tell != nil {
			tell(w, e, likelihood, before)
		}
	}
	return w, nil
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
	first := m.start(false)
	a := &Account{Warnings: []Warning{}}
	a.Lines = append(a.Lines, Line{Kind: "start", Live: true, Belief: m.odds(first.now()), Dropped: float(first.dropped), Setup: first.setup})
	tell := func(w *walk, e event, likelihood, before []num) {
		line := Line{N: e.N, Kind: e.Kind, Live: live[e.N-1], Belief: m.odds(w.now()),
			LogEvidence: float(w.logEvidence), Dropped: float(w.dropped), Setup: w.setup}
		if likelihood != nil {
			line.Decibans = m.decibans(before, likelihood)
		}
		a.Lines = append(a.Lines, line)
		if !line.Live {
			return
		}
		at := w.setup
		switch e.Kind {
		case "result":
			at = m.test(e.Test).At
		case "repair":
			for _, r := range m.Repairs {
				if r.ID == e.Repair {
					at = r.At
				}
			}
		}
		if at != w.setup {
			a.Warnings = append(a.Warnings, Warning{e.N, fmt.Sprintf("belongs to setup %s, done in %s", at, w.setup)})
		}
	}
	end, err := m.play(t, live, 0, parts&Origin != 0, tell)
	if err != nil {
		return nil, err
	}

	if parts&Origin != 0 {
		a.Origin = m.odds(end.intake())
	}
	if parts&Doubts != 0 {
		if a.Doubts, err = m.doubts(t, live, end.logEvidence); err != nil {
			return nil, err
		}
	}
	if parts&Next != 0 {
		a.Next = end.next()
	}
	return a, nil
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
				out[h] = add(out[h], p)
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
				p = add(p, mul(belief[h], quo(next.joint[h], old.joint[h])))
			}
			out[one.ID] = append(out[one.ID], float(p))
		}
	}
	return out
}

// doubts leaves out one live result after the other and plays the trail again.
func (m *Model) doubts(t *trail, live []bool, logEvidence num) ([]Doubt, error) {
	out := []Doubt{}
	for i, e := range t.Events {
		if !live[i] || e.Kind != "result" {
			continue
		}
		without, err := m.play(t, live, e.N, false, nil)
		if err != nil {
			return nil, err
		}
		out = append(out, Doubt{e.N, float(exp(sub(logEvidence, without.logEvidence)))})
	}
	return out, nil
}
