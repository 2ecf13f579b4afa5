package learn

import (
	"bytes"
	"cmp"
	"errors"
	"math"
	"slices"
	"sort"
)

// A Forecast is a probability that was given, and whether what it was given for came true.
type Forecast struct {
	P    float64
	True bool
}

// A Bin is the forecasts of nearly one probability.
type Bin struct {
	From float64 `json:"from"` // inclusive
	To   float64 `json:"to"`   // exclusive, but for the last
	N    int     `json:"n"`
	Said float64 `json:"said"` // mean forecast
	Was  float64 `json:"was"`  // share that came true
}

// A Calibration says how good probabilities were. With n_k forecasts in bin k, f_k their mean and
// o_k the share that came true, o that of all, the Brier score is
//
//	Brier = Reliability - Resolution + Uncertainty + Within
//	Reliability = 1/N sum n_k (f_k - o_k)^2,  Resolution = 1/N sum n_k (o_k - o)^2,  Uncertainty = o (1-o)
//
// Within is what is left because the forecasts of one bin are not all the same; it is 0 if they
// are. Less is better of all but Resolution.
// Source: Brier (1950); Murphy (1973), J. Appl. Meteor. 12; Stephenson et al. (2008) for Within.
type Calibration struct {
	N           int     `json:"n"`
	Brier       float64 `json:"brier"`
	Reliability float64 `json:"reliability"`
	Resolution  float64 `json:"resolution"`
	Uncertainty float64 `json:"uncertainty"`
	Within      float64 `json:"within"`
	Log         float64 `json:"log_score"` // mean of -ln of the probability given to what was the case, nats
	Bins        []Bin   `json:"bins"`      // those that hold any, rising
}

// binsAt are the borders of the bins: finer where most forecasts are.
var binsAt = []float64{0, 0.005, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1}

// Calibrate judges forecasts.
func Calibrate(all []Forecast) Calibration {
	return calibrate(all, binsAt)
}

func calibrate(all []Forecast, borders []float64) Calibration {
	c := Calibration{N: len(all)}
	if c.N == 0 {
		return c
	}
	bins := make([]Bin, len(borders)-1)
	for k := range bins {
		bins[k].From, bins[k].To = borders[k], borders[k+1]
	}
	n := float64(c.N)
	rate := 0.0
	for _, f := range all {
		y := 0.0
		if f.True {
			y = 1
		}
		rate += y
		c.Brier += float64((f.P - y) * (f.P - y))
		p := f.P
		if !f.True {
			p = 1 - f.P
		}
		c.Log -= math.Log(max(p, 1e-12))
		k := len(bins) - 1
		for k > 0 && f.P < bins[k].From {
			k--
		}
		bins[k].N++
		bins[k].Said += f.P
		bins[k].Was += y
	}
	c.Brier /= n
	c.Log /= n
	rate /= n
	for _, b := range bins {
		if b.N == 0 {
			continue
		}
		m := float64(b.N)
		b.Said /= m
		b.Was /= m
		c.Reliability += float64(m*(b.Said-b.Was)) * (b.Said - b.Was) / n
		c.Resolution += float64(m*(b.Was-rate)) * (b.Was - rate) / n
		c.Bins = append(c.Bins, b)
	}
	c.Uncertainty = float64(rate * (1 - rate))
	c.Within = c.Brier - (c.Reliability - c.Resolution + c.Uncertainty)
	return c
}

// A Lead is how often the leading suspects were right: of each unit the likeliest mode, with what it was
// said to have.
type Lead struct {
	Units  int     `json:"units"`
	Said   float64 `json:"said"`   // mean odds of the leading suspects
	Was    float64 `json:"was"`    // share of them that were among the causes
	Spread float64 `json:"spread"` // standard error of Was, if the odds are right
}

// Enough is from how many units on a Lead is worth telling.
const Enough = 20

// Off reports whether what was said differs from what was so by more than chance does in nine of ten
// cases.
func (l Lead) Off() bool { return math.Abs(l.Was-l.Said) > 1.645*l.Spread }

// lead judges the leading suspects of forecasts of n modes a unit.
func lead(all []Forecast, n int) Lead {
	var l Lead
	for unit := range slices.Chunk(all, n) {
		top := unit[0]
		for _, f := range unit {
			if f.P > top.P {
				top = f
			}
		}
		l.Units++
		l.Said += top.P
		l.Spread += float64(top.P * (1 - top.P))
		if top.True {
			l.Was++
		}
	}
	if l.Units > 0 {
		units := float64(l.Units)
		l.Said, l.Was, l.Spread = l.Said/units, l.Was/units, math.Sqrt(l.Spread)/units
	}
	return l
}

// A Trial is how good the odds of a bench were on its own units.
type Trial struct {
	Units   int         `json:"units"` // whose causes are known
	Folds   int         `json:"folds"` // in so many parts the units were left out of learning in turn
	Shipped Calibration `json:"shipped"`
	Learnt  Calibration `json:"learnt"`

	ShippedLead Lead `json:"shipped_lead"`
	LearntLead  Lead `json:"learnt_lead"`
}

// ErrNoCauses says that no trail names causes, so that nothing says what was right.
var ErrNoCauses = errors.New("learn: no trail names causes")

// Try judges the odds of what was wrong when a unit came in, on the trails that name causes: for
// each such unit and each mode the odds from all but the causes, against the causes. Shipped are the
// odds by the shipped numbers, learnt those by numbers learnt from all other units but a part: the
// units are dealt into so many folds by the order of their trails' shapes, each of which is left
// out in turn (cross-validation); folds of 0 leave out each unit alone.
func (l *Learner) Try(o Options, folds int) (Trial, error) {
	ids := make([]string, 0, len(l.trails))
	for id := range l.trails {
		ids = append(ids, id)
	}
	sort.Slice(ids, func(i, j int) bool {
		a, b := ids[i], ids[j]
		return cmp.Or(bytes.Compare(l.trails[a].shape, l.trails[b].shape), cmp.Compare(a, b)) < 0
	})
	var judged []string
	for _, id := range ids {
		if l.trails[id].shape.named() {
			judged = append(judged, id)
		}
	}
	t := Trial{Units: len(judged), Folds: folds}
	if len(judged) == 0 {
		return t, ErrNoCauses
	}
	if folds <= 0 || folds > len(judged) {
		t.Folds = len(judged)
	}
	whole := o
	whole.Told = nil
	all, err := l.Fit(whole)
	if err != nil {
		return t, err
	}
	shipped := make([]float64, len(l.frame.ship))
	l.frame.maximise(shipped, all.alpha, make([]float64, len(l.frame.ship)))
	kappa := l.frame.kappas()
	before, err := l.forecasts(judged, shipped, kappa, all.used)
	if err != nil {
		return t, err
	}
	var after []Forecast
	for fold := range t.Folds {
		rest := &Learner{frame: l.frame, trails: map[string]kept{}, others: l.others}
		for id, k := range l.trails {
			rest.trails[id] = k
		}
		var out []string
		for i, id := range judged {
			if i%t.Folds == fold {
				out = append(out, id)
				delete(rest.trails, id)
			}
		}
		part := whole
		part.trust = all.Trust
		part.start = func(numbers []float64) { copy(numbers, all.numbers) }
		fit, err := rest.Fit(part)
		if err != nil {
			return t, err
		}
		f, err := l.forecasts(out, fit.numbers, fit.kappa, all.used)
		if err != nil {
			return t, err
		}
		after = append(after, f...)
		if o.Told != nil {
			o.Told(fold + 1)
		}
	}
	t.Shipped, t.Learnt = Calibrate(before), Calibrate(after)
	n := len(l.frame.model.Modes)
	t.ShippedLead, t.LearntLead = lead(before, n), lead(after, n)
	return t, nil
}

// forecasts returns, unit by unit and mode by mode, the odds at intake by all but the causes.
func (l *Learner) forecasts(ids []string, numbers, kappa []float64, used []bool) ([]Forecast, error) {
	f := l.frame
	r := f.newRound(numbers, kappa, used, nil)
	s := r.smoother()
	var all []Forecast
	for _, id := range ids {
		stages, err := f.stages(l.trails[id].shape)
		if err != nil {
			return nil, err
		}
		causes := stages[0].modes
		s.follow(nil)
		if _, ok := s.smooth(stages[1:], &sink{}); !ok {
			continue
		}
		odds := make([]float64, len(f.model.Modes))
		for at, h := range s.act {
			x := s.gamma[at]
			for _, i := range f.space.Modes(int(h)) {
				odds[i] += x
			}
		}
		for i, p := range odds {
			all = append(all, Forecast{min(max(p, 0), 1), slices.Contains(causes, i)})
		}
	}
	return all, nil
}
