package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// defects is what is wrong with a file that was not read in, over whatever screen the
// file was chosen on.
func (v *pen) defects(r *state.RefusedFile) app.UI {
	what := words.RefusedNothing
	if r.Partly {
		what = words.RefusedPartly
	}
	return app.Main().Class("main", "refused").Body(
		app.Section().Class("block").Body(
			app.P().Class("lead").Text(v.say(words.TroubleImport)),
			app.If(r.File != "", app.P().Class("refused-file").Body(app.Elem("bdi").Text(short(state.Printable(r.File), labelShown)))),
			app.P().Text(v.say(what)),
		),
		app.Section().Class("block").Body(
			app.H2().Text(v.say(words.RefusedCount, r.Count())),
			app.Ol().Class("defects").Body(app.Range(r.Defects).Slice(func(i int) app.UI { return v.defect(r.Defects[i]) })),
			app.If(r.More > 0, app.P().Text(v.say(words.RefusedMore, r.More))),
		),
	)
}

// defect is one of them. What was found is in the words of the engine, English.
func (v *pen) defect(d state.Defect) app.UI {
	line := ""
	switch {
	case d.Line > 0 && d.In != "":
		line = v.say(words.RefusedLineIn, d.In, d.Line, d.Column)
	case d.Line > 0:
		line = v.say(words.RefusedLine, d.Line, d.Column)
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
func (v *pen) defectsDock() app.UI {
	return app.Div().Class("dock").Body(
		v.button("button-main", v.say(words.RefusedCopy), state.CopyDefects{}),
		v.button("button-plain", v.say(words.RefusedClose), state.CloseDefects{}),
	)
}
