package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/report"
	"pitwise/app/state"
	"pitwise/app/words"
)

// Report shows the readable report of a unit, ready to print or take away.
type Report struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Report) Render() app.UI {
	u := at.shown.Unit
	if u == nil {
		return app.Main().Class("main").Body(app.P().Class("quiet").Role("status").Text(say(words.Loading)))
	}
	if u.Sheet != state.NoSheet {
		return app.Main().Class("main", "sheeted").Body(&Sheet{Rev: v.Rev})
	}
	r := report.Of(speech(), u.Model, u.Trail, u.Account)
	return app.Main().Class("main", "report").Body(
		app.Range(r.Sections).Slice(func(i int) app.UI {
			s := r.Sections[i]
			return app.Section().Class("report-section").Body(
				app.H2().Text(s.Title),
				app.Range(s.Lines).Slice(func(j int) app.UI { return app.P().Text(s.Lines[j]) }),
				app.If(len(s.Rows) > 0, app.Div().Class("scroll").TabIndex(0).Role("region").Aria("label", s.Title).Body(table(s))),
			)
		}),
		&PhotoPrint{Rev: v.Rev},
	)
}

func table(s report.Section) app.UI {
	return app.Table().Body(
		app.THead().Body(app.Tr().Body(app.Range(s.Head).Slice(func(i int) app.UI { return app.Th().Scope("col").Text(s.Head[i]) }))),
		app.TBody().Body(app.Range(s.Rows).Slice(func(i int) app.UI {
			row := s.Rows[i]
			return app.Tr().Body(app.Range(row).Slice(func(j int) app.UI { return app.Td().Text(row[j]) }))
		})),
	)
}
