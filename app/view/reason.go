package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/plan"
)

func (v *pen) reasons(u *state.Unit, p plan.Proposal) []string { return v.words.Reasons(&u.Unit, p) }

// follows is what each result would lead to.
func (v *pen) follows(u *state.Unit, p plan.Proposal) app.UI {
	w, m := v.words, u.Model
	t := &m.Tests[p.Step.Index]
	return app.Details().Class("more").Body(
		summary(v.say(words.FollowsName)),
		app.Ul().Class("follows").Body(app.Range(p.Outcomes).Slice(func(i int) app.UI {
			f := p.Outcomes[i]
			suspect := v.say(words.FollowsSound, w.Percent(f.Odds))
			if f.Suspect >= 0 {
				suspect = v.say(words.FollowsSuspect, modeTitle(m, f.Suspect), w.Percent(f.Odds))
			}
			var next app.UI // none where it is open
			if f.Next.Kind != "" {
				next = app.Span().Class("quiet").Text(v.say(words.FollowsNext, v.stepTitle(m, f.Next)))
			}
			return app.Li().Body(
				app.B().Text(outcomeTitle(t, f.Outcome)),
				app.Span().Class("number").Text(w.Percent(f.P)),
				bar("bar-follow", f.P),
				app.Span().Class("quiet").Text(suspect),
				next,
			)
		})),
	)
}
