package learn

import (
	"math"

	"pitwise/engine/model"
)

// FiguresOf returns the numbers of a model as they stand that are about what of picks, in the model's order:
// modes, tests, repairs, setup steps. base is the shipped model that it is a revision of, or the model
// itself: its numbers are what a Figure calls shipped, and Learnt is true of those that differ from it. The
// interval of each is what its source's weight makes of it: a number p that is worth w watched units lies, with
// 90 % probability, where Beta(wp, w(1-p)) has its middle.
func FiguresOf(m, base *model.Model, of func(Figure) bool) []Figure {
	var all []Figure
	add := func(f Figure, source model.SourceID, p, shipped float64) {
		f.Source, f.P, f.Shipped, f.Grade, f.Weight = source, p, shipped, model.Memory, memoryWeight
		if !of(f) {
			return
		}
		if s, ok := m.Source(source); ok {
			f.Grade, f.Weight = s.Kind, s.Weight
		}
		f.Learnt = math.Abs(p-shipped) > 1e-6
		f.Interval = &Interval{betaQuantile(0.05, f.Weight*p, f.Weight*(1-p)), betaQuantile(0.95, f.Weight*p, f.Weight*(1-p))}
		all = append(all, f)
	}
	for i := range m.Modes {
		x := &m.Modes[i]
		shipped := x.Prior
		if was, ok := base.Mode(x.ID); ok {
			shipped = was.Prior
		}
		add(Figure{Kind: Prior, Mode: x.ID}, x.Source, x.Prior, shipped)
	}
	for i := range m.Tests {
		t := &m.Tests[i]
		was, ok := base.Test(t.ID)
		if !ok || len(was.Outcomes) != len(t.Outcomes) {
			was = t
		}
		for k := range t.Outcomes {
			add(Figure{Kind: Healthy, Test: t.ID, Outcome: t.Outcomes[k].ID}, t.Source, t.Healthy[k], was.Healthy[k])
		}
		for _, g := range t.Given {
			shipped := g.P
			for _, old := range was.Given {
				if base.Modes[old.Mode].ID == m.Modes[g.Mode].ID {
					shipped = old.P
				}
			}
			for k := range t.Outcomes {
				add(Figure{Kind: Link, Test: t.ID, Mode: m.Modes[g.Mode].ID, Outcome: t.Outcomes[k].ID}, t.Source, g.P[k], shipped[k])
			}
		}
	}
	change := func(f Figure, source model.SourceID, c, was model.Change) {
		for _, side := range []struct {
			kind    Kind
			now, as []model.Chance
		}{{Fix, c.Fixes, was.Fixes}, {Risk, c.Risks, was.Risks}} {
			for _, x := range side.now {
				shipped := x.P
				for _, old := range side.as {
					if base.Modes[old.Mode].ID == m.Modes[x.Mode].ID {
						shipped = old.P
					}
				}
				f.Kind, f.Mode = side.kind, m.Modes[x.Mode].ID
				add(f, source, x.P, shipped)
			}
		}
	}
	for i := range m.Repairs {
		r := &m.Repairs[i]
		was := r.Change
		if old, ok := base.Repair(r.ID); ok {
			was = old.Change
		}
		change(Figure{Repair: r.ID}, r.Source, r.Change, was)
	}
	for _, leave := range []bool{false, true} {
		for i := range m.Setups {
			s := &m.Setups[i]
			old, ok := base.Setup(s.ID)
			if !ok {
				old = s
			}
			now, was := s.Enter, old.Enter
			if leave {
				now, was = s.Leave, old.Leave
			}
			change(Figure{Setup: s.ID, Leave: leave}, now.Source, now.Change, was.Change)
		}
	}
	return all
}

// betaQuantile returns where Beta(a, b) has q of its mass below, within 1e-15; what is certain is itself.
func betaQuantile(q, a, b float64) float64 {
	switch {
	case a <= 0:
		return 0
	case b <= 0:
		return 1
	}
	low, high := 0.0, 1.0
	for range 50 {
		mid := (low + high) / 2
		if betaBelow(mid, a, b) < q {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// betaBelow is the regularised incomplete beta function I_x(a, b), by its continued fraction (Abramowitz &
// Stegun 1964, 26.5.8) after Lentz.
func betaBelow(x, a, b float64) float64 {
	switch {
	case x <= 0:
		return 0
	case x >= 1:
		return 1
	case x > (a+1)/(a+b+2):
		return 1 - betaBelow(1-x, b, a)
	}
	la, _ := math.Lgamma(a)
	lb, _ := math.Lgamma(b)
	lab, _ := math.Lgamma(a + b)
	front := math.Exp(lab - la - lb + float64(a*math.Log(x)) + float64(b*math.Log(1-x)))
	const tiny = 1e-300
	f, c, d := 1.0, 1.0, 0.0
	for i := range 400 {
		m := float64(i / 2)
		twice := float64(2 * m)
		num := 1.0
		switch {
		case i > 0 && i%2 == 0:
			num = m * (b - m) * x / ((a + twice - 1) * (a + twice))
		case i > 0:
			num = -(a + m) * (a + b + m) * x / ((a + twice) * (a + twice + 1))
		}
		if d = 1 + float64(num*d); math.Abs(d) < tiny {
			d = tiny
		}
		d = 1 / d
		if c = 1 + num/c; math.Abs(c) < tiny {
			c = tiny
		}
		f *= c * d
		if math.Abs(1-float64(c*d)) < 1e-14 {
			break
		}
	}
	return front * (f - 1) / a
}
