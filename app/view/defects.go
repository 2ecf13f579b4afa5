package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// Defects is what is wrong with a file that was not read in, over whatever screen the
// file was chosen on.
type Defects struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Defects) Render() app.UI {
	r := at.shown.Refused
	if r == nil {
		return app.Main().Class("main")
	}
	what := words.RefusedNothing
	if r.Partly {
		what = words.RefusedPartly
	}
	return app.Main().Class("main", "refused").Body(
		app.Section().Class("block").Body(
			app.P().Class("lead").Text(say(words.TroubleImport)),
			app.If(r.File != "", app.P().Class("refused-file").Body(app.Elem("bdi").Text(short(state.Printable(r.File), labelShown)))),
			app.P().Text(say(what)),
		),
		app.Section().Class("block").Body(
			app.H2().Text(say(words.RefusedCount, r.Count())),
			app.Ol().Class("defects").Body(app.Range(r.Defects).Slice(func(i int) app.UI { return defect(r.Defects[i]) })),
			app.If(r.More > 0, app.P().Text(say(words.RefusedMore, r.More))),
		),
	)
}

// defect is one of them. What was found is in the words of the engine, English.
func defect(d state.Defect) app.UI {
	line := ""
	switch {
	case d.Line > 0 && d.In != "":
		line = say(words.RefusedLineIn, d.In, d.Line, d.Column)
	case d.Line > 0:
		line = say(words.RefusedLine, d.Line, d.Column)
	case d.In != "":
		line = d.In
	}
	return app.Li().Class("defect").Body(
		app.If(line != "", app.Span().Class("defect-line").Text(line)),
		app.If(d.Place != "", app.Code().Class("defect-place").Text(d.Place)),
		app.Span().Class("defect-found").Lang("en").Text(d.Found),
	)
}

// defectsDock is what ends the list.
func defectsDock() app.UI {
	return app.Div().Class("dock").Body(
		button("button-main", say(words.RefusedCopy), state.CopyDefects{}),
		button("button-plain", say(words.RefusedClose), state.CloseDefects{}),
	)
}
