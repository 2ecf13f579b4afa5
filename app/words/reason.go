package words

import (
	"pitwise/engine/bench"
	"pitwise/engine/plan"
)

// Reasons says why a proposal stands where it stands, a sentence each.
func (w *Words) Reasons(u *bench.Unit, p plan.Proposal) []string {
	var lines []string
	for _, r := range u.Reasons(p) {
		if s := w.Reason(u, p.Step, r); s != "" {
			lines = append(lines, s)
		}
	}
	return lines
}

// Reason says one reason for a step of a unit; "" if there is nothing to say of it.
func (w *Words) Reason(u *bench.Unit, s plan.Step, r bench.Reason) string {
	m := u.Model
	code := u.Terms().Currency
	money := func(x float64) string { return w.About(x, code) }
	switch r.Kind {
	case bench.ReasonTells:
		return r.Text
	case bench.ReasonBack:
		return w.Say(ReasonBack)
	case bench.ReasonShut:
		return w.Say(ReasonShut)
	case bench.ReasonAgain:
		if s.Kind == plan.DoTest {
			return w.Say(ReasonAgainTest, r.N)
		}
		return w.Say(ReasonAgainRepair, r.N)
	case bench.ReasonOpened:
		return w.Say(ReasonOpened, w.Seen(m, r.Seen))
	case bench.ReasonSeparates:
		return w.Say(ReasonSeparates, Mode(m, r.Modes[0]), Mode(m, r.Modes[1]))
	case bench.ReasonMends:
		return w.Say(ReasonFixes, Mode(m, r.Modes[0]), w.Percent(r.P), w.Percent(r.Chance))
	case bench.ReasonLeft:
		return w.Say(ReasonLeft, w.Percent(r.P))
	case bench.ReasonEnds:
		return w.Say(ReasonEither, money(r.Ends[0]), money(r.Ends[1]))
	case bench.ReasonProof:
		if r.Money > 0 && Counts(r.Money, code) {
			return w.Say(ReasonProof, money(r.Money))
		}
	case bench.ReasonWants:
		repair := plan.Step{Kind: plan.DoRepair, Index: r.Want.Repair}
		return w.Say(ReasonWants, w.Tools(m, r.Want.Lacks), w.Step(m, repair), Mode(m, r.Want.Mode), w.Percent(r.Want.P))
	case bench.ReasonSaves:
		switch other := w.Step(m, r.Step); {
		case r.Money > 0 && Counts(r.Money, code):
			return w.Say(ReasonSaves, money(r.Money), other)
		case r.Money < 0 && Counts(r.Money, code) && r.First:
			return w.Say(ReasonPractice, money(-r.Money), other)
		case r.Money < 0 && Counts(r.Money, code):
			return w.Say(ReasonCosts, money(-r.Money), other)
		default:
			return w.Say(ReasonEqual, other)
		}
	}
	return ""
}

// Held says why a step is not on offer.
func (w *Words) Held(u *bench.Unit, h bench.Held) string {
	switch h.Why {
	case bench.HeldTools:
		return w.Say(HeldTools, w.Tools(u.Model, h.Lacks))
	case bench.HeldNotYet:
		return w.Say(HeldNotYet, w.Seen(u.Model, h.After))
	case bench.HeldSkipped:
		if h.Skip.Reason != "" {
			return w.Say(EventResult, w.Say(HeldSkipped), h.Skip.Reason)
		}
	}
	return w.Say(HeldSkipped)
}
