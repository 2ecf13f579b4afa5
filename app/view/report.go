package view

import (
	"math"
	"strings"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/report"
	"pitwise/app/state"
	"pitwise/app/words"
)

// report shows the readable report of a unit, ready to print or take away.
func (v *pen) report(s state.State) app.UI {
	u := s.Unit
	if u == nil {
		return app.Main().Class("main").Body(app.P().Class("quiet").Role("status").Text(v.say(words.Loading)))
	}
	if u.Sheet != state.NoSheet {
		return app.Main().Class("main", "sheeted").Body(v.sheet(s))
	}
	r := report.Of(v.words, report.Unit{Model: u.Model, Trail: u.Trail, Account: u.Account, Origin: u.Origin, Zone: v.zone})
	return app.Main().Class("main", "report").Body(
		app.Range(r.Sections).Slice(func(i int) app.UI {
			part := r.Sections[i]
			return app.Section().Class("report-section", "report-"+string(part.Kind)).Body(
				app.H2().Text(part.Title),
				app.Range(part.Lines).Slice(func(j int) app.UI { return app.P().Text(part.Lines[j]) }),
				app.If(len(part.Rows) > 0, app.Div().Class("scroll").TabIndex(0).Role("region").Aria("label", part.Title).Body(v.table(part))),
				when(part.Kind == report.AboutOdds && u.Account != nil && u.Model != nil, func() app.UI { return v.chart(u) }),
			)
		}),
		v.photoPrint(s.Album()),
	)
}

// reportDock is what one does with a report.
func (v *pen) reportDock() app.UI {
	return app.Div().Class("dock").Body(
		v.button("button-main", v.say(words.ReportPrint), state.PrintOut{}),
		v.button("button-plain", v.say(words.Export), state.OpenSheet{Sheet: state.SheetExport}),
	)
}

func (v *pen) table(s report.Section) app.UI {
	return app.Table().Body(
		app.THead().Body(app.Tr().Body(app.Range(s.Head).Slice(func(i int) app.UI { return app.Th().Scope("col").Text(s.Head[i]) }))),
		app.TBody().Body(app.Range(s.Rows).Slice(func(i int) app.UI {
			row := s.Rows[i]
			if first := row.Cells[0]; strings.Join(row.Cells, "") == first { // a sentence, not a row of a suspect
				return app.Tr().Class(rowClass(row)).Body(app.Td().ColSpan(len(s.Head)).Text(first))
			}
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
