package view

import (
	"math"

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
	r := report.Of(speech(), report.Unit{Model: u.Model, Trail: u.Trail, Account: u.Account, Origin: u.Origin, Zone: at.zone})
	return app.Main().Class("main", "report").Body(
		app.Range(r.Sections).Slice(func(i int) app.UI {
			s := r.Sections[i]
			return app.Section().Class("report-section", "report-"+string(s.Kind)).Body(
				app.H2().Text(s.Title),
				app.Range(s.Lines).Slice(func(j int) app.UI { return app.P().Text(s.Lines[j]) }),
				app.If(len(s.Rows) > 0, app.Div().Class("scroll").TabIndex(0).Role("region").Aria("label", s.Title).Body(table(s))),
				app.If(s.Kind == report.AboutOdds, &Chart{Rev: v.Rev}),
			)
		}),
		&PhotoPrint{Rev: v.Rev},
	)
}

// reportDock is what one does with a report.
func reportDock() app.UI {
	return app.Div().Class("dock").Body(
		button("button-main", say(words.ReportPrint), state.PrintOut{}),
		button("button-plain", say(words.Export), state.OpenSheet{Sheet: state.SheetExport}),
	)
}

func table(s report.Section) app.UI {
	return app.Table().Body(
		app.THead().Body(app.Tr().Body(app.Range(s.Head).Slice(func(i int) app.UI { return app.Th().Scope("col").Text(s.Head[i]) }))),
		app.TBody().Body(app.Range(s.Rows).Slice(func(i int) app.UI {
			row := s.Rows[i]
			return app.Tr().Class(rowClass(row)).Body(app.Range(row.Cells).Slice(func(j int) app.UI {
				if row.Bars == nil || math.IsNaN(row.Bars[j]) {
					return app.Td().Text(row.Cells[j])
				}
				return app.Td().Class("barred").Body(app.Span().Class("number").Text(row.Cells[j]), bar("bar-suspect", row.Bars[j]))
			}))
		})),
	)
}

func rowClass(r report.Row) string {
	if r.Gone {
		return "row-gone"
	}
	return "row-live"
}
