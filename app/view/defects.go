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
	is := r.Kind != state.FileOurs
	if is {
		what = words.NothingStored
	}
	list := func() []app.UI {
		return []app.UI{
			app.Ol().Class("defects").Body(app.Range(r.Defects).Slice(func(i int) app.UI { return v.defect(r.Defects[i]) })),
			app.If(r.More > 0, app.P().Text(v.say(words.RefusedMore, r.More))),
		}
	}
	return app.Main().Class("main", "refused").Body(
		app.Section().Class("block").Body(
			app.P().Class("lead").Text(v.say(words.TroubleImport)),
			app.If(r.File != "", app.P().Class("refused-file").Body(app.Elem("bdi").Text(short(state.Printable(r.File), labelShown)))),
			when(is, func() app.UI { return app.P().Body(app.B().Text(v.say(fileKinds[r.Kind]))) }),
			app.P().Text(v.say(what)),
		),
		// Who made a file of ours wants every line; who took the wrong one needs none.
		when(!is, func() app.UI {
			return app.Section().Class("block").Body(append([]app.UI{app.H2().Text(v.say(words.RefusedCount, r.Count()))}, list()...)...)
		}),
		when(is, func() app.UI {
			return app.Details().Class("more").Body(append([]app.UI{summary(v.say(words.RefusedExactly))}, list()...)...)
		}),
	)
}

// fileKinds say what was read in instead of a file of ours.
var fileKinds = map[state.FileKind]words.Key{
	state.FilePicture: words.FileIsPicture, state.FileBinary: words.FileIsBinary, state.FileText: words.FileIsText,
	state.FileForeign: words.FileIsForeign, state.FileCut: words.FileIsCut, state.FileEmpty: words.FileIsEmpty, state.FileNewer: words.FileIsNewer, state.FileCounts: words.FileIsCounts, state.FileOther: words.FileIsOther, state.FileMany: words.FileIsMany, state.FileLarge: words.FileIsLarge,
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
func (v *pen) defectsDock(r *state.RefusedFile) app.UI {
	if r.Kind != state.FileOurs {
		return app.Div().Class("dock").Body(v.button("button-main", v.say(words.Close), state.CloseDefects{}))
	}
	return app.Div().Class("dock").Body(
		v.button("button-main", v.say(words.RefusedCopy), state.CopyDefects{}),
		v.button("button-plain", v.say(words.RefusedClose), state.CloseDefects{}),
	)
}
