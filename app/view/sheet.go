package view

import (
	"slices"
	"sort"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/plan"
)

// sheet asks one thing before something is recorded or taken away.
func (v *pen) sheet(s state.State) app.UI {
	u := s.Unit
	var body []app.UI
	title := v.sheetTitle(u.Sheet)
	switch u.Sheet {
	case state.SheetSkip:
		body = append(body, app.P().Text(v.say(words.SkipText)), v.sheetText(u, v.say(words.SkipReason), true))
	case state.SheetNote:
		body = append(body, v.sheetText(u, v.say(words.NoteName), false), v.photos(s.Album()))
	case state.SheetSignOff:
		body = append(body, v.endOdds(u, plan.SignOff), v.causes(u))
	case state.SheetWrite:
		body = append(body, v.endOdds(u, plan.WriteOff), v.causes(u))
	case state.SheetReturn:
		body = append(body, app.P().Text(v.say(words.ReturnText)), v.causes(u))
	case state.SheetNone:
		body = append(body, app.P().Text(v.say(words.NoneText)), v.sheetText(u, v.say(words.NoneName), true))
	case state.SheetWait:
		body = append(body, v.sheetText(u, v.say(words.WaitName), true), v.awaited(u))
	case state.SheetBack:
		body = append(body, app.P().Text(v.say(words.BackText)), v.seen(u), v.sheetText(u, v.say(words.BackName), true))
	case state.SheetTerms:
		body = append(body, v.tools(u.Model, u.Edit), v.amounts(u.Model, u.Edit))
	case state.SheetExport:
		body = append(body, v.exports(s))
	case state.SheetCodes:
		body = append(body, v.codes(u))
	}
	return app.Section().Class("sheet").Aria("label", title).Body(
		app.H2().Text(title),
		app.Div().Class("block").Body(body...),
	)
}

func (v *pen) sheetTitle(s state.Sheet) string {
	switch s {
	case state.SheetSkip:
		return v.say(words.SkipTitle)
	case state.SheetNote:
		return v.say(words.NoteTitle)
	case state.SheetSignOff:
		return v.say(words.SignOff)
	case state.SheetWrite:
		return v.say(words.WriteOff)
	case state.SheetReturn:
		return v.say(words.ReturnUnit)
	case state.SheetNone:
		return v.say(words.NoneOfThese)
	case state.SheetWait:
		return v.say(words.WaitGo)
	case state.SheetBack:
		return v.say(words.CameBack)
	case state.SheetTerms:
		return v.say(words.TermsChange)
	case state.SheetCodes:
		return v.say(words.CodesTitle)
	}
	return v.say(words.ExportTitle)
}

var confirms = map[state.Sheet]words.Key{
	state.SheetSkip: words.SkipConfirm, state.SheetNote: words.NoteConfirm, state.SheetSignOff: words.SignOffConfirm,
	state.SheetWrite: words.WriteOffConfirm, state.SheetReturn: words.ReturnConfirm, state.SheetNone: words.NoneConfirm,
	state.SheetWait: words.WaitConfirm, state.SheetBack: words.BackConfirm, state.SheetTerms: words.TermsConfirm,
}

// sheetDock is what ends a sheet.
func (v *pen) sheetDock(u *state.Unit) app.UI {
	confirm, ok := confirms[u.Sheet]
	leave := words.Cancel
	if u.Sheet == state.SheetCodes {
		leave = words.Close
	}
	return app.Div().Class("dock").Body(
		app.If(ok, v.button("button-main", v.say(confirm), state.ConfirmSheet{}).Disabled(u.Saving)),
		v.button("button-plain", v.say(leave), state.OpenSheet{Sheet: state.NoSheet}),
	)
}

func (v *pen) sheetText(u *state.Unit, name string, short bool) app.UI {
	h, s := v.typed(func(text string) state.Msg { return state.SetText{Text: text} }, u.Sheet)
	var input app.UI
	if short {
		input = app.Input().ID("sheet-text").Class("input").Type("text").MaxLength(200).Value(v.value("sheet-text", u.Text)).AutoComplete(false).OnInput(h, s)
	} else {
		input = app.Textarea().ID("sheet-text").Class("input").Rows(5).MaxLength(4000).Attr("value", v.value("sheet-text", u.Text)).OnInput(h, s)
	}
	return field("sheet-text", name, "", input)
}

// sparesShown is how many parts are offered to wait for.
const sparesShown = 6

// awaited offers what a unit may wait for: parts, by the names under which their prices are known, and its owner.
func (v *pen) awaited(u *state.Unit) app.UI {
	var all []string
	if u.Model != nil {
		spares := u.Spares()
		for _, i := range spares[:min(len(spares), sparesShown)] {
			all = append(all, v.stepTitle(u.Model, plan.Step{Kind: plan.DoRepair, Index: i}))
		}
	}
	all = append(all, v.words.Owner())
	return app.Div().Class("chips").Body(app.Range(all).Slice(func(i int) app.UI {
		return v.chip(all[i], u.Text == all[i], state.SetText{Text: all[i]})
	}))
}

// endOdds is the reasoning for an end, in odds and money.
func (v *pen) endOdds(u *state.Unit, kind plan.StepKind) app.UI {
	var lines []string
	for _, p := range u.Proposals {
		if p.Step.Kind == kind {
			lines = v.reasons(u, p)
			if len(u.Way(p)) > 0 {
				lines = append([]string{v.say(words.EndNotClosed)}, lines...)
			}
		}
	}
	return app.Div().Class("reason").Body(app.Range(lines).Slice(func(i int) app.UI { return app.P().Text(lines[i]) }))
}

// seen asks what a unit that comes back does now.
func (v *pen) seen(u *state.Unit) app.UI {
	test, outcomes := u.Seen()
	if len(outcomes) == 0 {
		return nil
	}
	return app.FieldSet().Class("question", "block").Body(
		app.Legend().Text(v.say(words.BackSees)),
		app.P().Class("field-help").Text(v.say(words.BackSeesHelp)),
		app.Div().Class("chips").Body(app.Range(outcomes).Slice(func(i int) app.UI {
			return v.chip(outcomeTitle(test, i+1), outcomes[i].ID == u.Said, state.SetSaid{Outcome: outcomes[i].ID})
		})),
	)
}

// causes asks what was found to be wrong.
func (v *pen) causes(u *state.Unit) app.UI {
	if u.Model == nil || u.Account == nil {
		return app.Div()
	}
	odds := u.Account.Lines[len(u.Account.Lines)-1].Odds
	if u.Origin != nil {
		odds = *u.Origin
	}
	order := odds.Ranked()
	head := u.Supported() // what the odds support is offered, the rest is a tap away
	for _, id := range u.Causes {
		if mode, ok := u.Model.Mode(id); ok && !slices.Contains(head, mode.Index) {
			head = append(slices.Clip(head), mode.Index)
		}
	}
	rest := slices.DeleteFunc(slices.Clone(order), func(i int) bool { return slices.Contains(head, i) })
	sort.Ints(rest)
	box := func(i int) app.UI {
		id := u.Model.Modes[i].ID
		return v.check("cause", "cause-"+string(id), partTitle(u.Model, i)+": "+modeTitle(u.Model, i), slices.Contains(u.Causes, id),
			func(on bool) state.Msg { return state.SetCause{Mode: id, On: on} }, id)
	}
	return app.FieldSet().Class("block").Body(
		app.Legend().Text(v.say(words.CausesName)),
		app.P().Class("field-help").Text(v.say(words.CausesHelp)),
		app.Range(head).Slice(func(i int) app.UI { return box(head[i]) }),
		app.If(len(rest) > 0, app.Details().Class("more").Body(
			summary(v.say(words.OddsRest, len(rest))),
			app.Range(rest).Slice(func(i int) app.UI { return box(rest[i]) }),
		)),
	)
}

// exports is what may be taken away, and how.
func (v *pen) exports(s state.State) app.UI {
	forms := []struct {
		form       state.Form
		name, help words.Key
	}{
		{state.FormTrail, words.FormTrail, words.FormTrailHelp},
		{state.FormTrailFull, words.FormTrailFull, words.FormTrailFullHelp},
		{state.FormReport, words.FormReport, words.FormReportHelp},
		{state.FormBuyer, words.FormBuyer, words.FormBuyerHelp},
		{state.FormSteps, words.FormSteps, words.FormStepsHelp},
	}
	photos := len(s.Photos.Photos) > 0
	return app.Div().Class("exports").Body(
		v.button("button-plain", v.say(words.CodesGo), state.OpenSheet{Sheet: state.SheetCodes}),
		app.If(photos, v.withPhotos(s.WithPhotos, words.WithPhotosHelp)),
		app.Range(forms).Slice(func(i int) app.UI {
			f := forms[i]
			name := v.say(f.name)
			return app.Section().Class("export").Body(
				app.H3().Text(name),
				app.P().Class("quiet").Text(v.say(f.help)),
				app.Div().Class("row").Body(
					v.button("button-plain", v.say(words.WaySave), state.TakeAway{Form: f.form, Way: state.WaySave}).Aria("label", v.say(words.WaySave)+": "+name),
					app.If(s.CanShare, v.button("button-plain", v.say(words.WayShare), state.TakeAway{Form: f.form, Way: state.WayShare}).Aria("label", v.say(words.WayShare)+": "+name)),
					// Some megabytes of pictures are nothing for a clipboard.
					app.If(f.form != state.FormTrailFull || !photos || !s.WithPhotos,
						v.button("button-plain", v.say(words.WayCopy), state.TakeAway{Form: f.form, Way: state.WayCopy}).Aria("label", v.say(words.WayCopy)+": "+name)),
				),
			)
		}),
	)
}
