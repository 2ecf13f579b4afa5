package view

import (
	"strconv"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/state"
)

const svgSpace = "http://www.w3.org/2000/svg"

// svg makes an element of a drawing.
func svg(tag string) app.HTMLElem { return app.Elem(tag).XMLNS(svgSpace) }

// button is a button that sends a message.
func (v *pen) button(class, label string, m state.Msg) app.HTMLButton {
	return v.act(app.Button().Type("button").Class("button", class), m).Body(app.Span().Text(label))
}

// summary is what opens the rest of its element. Its words are an element of their own, so that they stay beside its sign.
func summary(text string) app.HTMLSummary {
	return app.Summary().Body(app.Span().Text(text))
}

// act makes a button send a message, and marks it with what that is, for browser.Guard.
func (v *pen) act(b app.HTMLButton, m state.Msg) app.HTMLButton {
	h, s := v.tap(m)
	return b.Attr(browser.GuardedMark, s).OnClick(h, s)
}

// icons are paths in a box of 24 by 24, drawn with the line only.
var icons = map[string]string{
	"back":     "M14 5 L7 12 L14 19",
	"settings": "M4 7 H13 M17 7 H20 M15 4.5 V9.5 M4 17 H7 M11 17 H20 M9 14.5 V19.5",
	"step":     "M5 4 V20 M5 12 H18 M13 7 L18 12 L13 17",
	"odds":     "M4 6 H20 M4 12 H14 M4 18 H9",
	"trail":    "M6 5 V19 M6 5 H10 M6 12 H15 M6 19 H19",
	"other":    "M4 5 H9 V10 H4 Z M15 5 H20 V10 H15 Z M4 15 H9 V20 H4 Z M15 17.5 H20",
	"caution":  "M12 3 V14 M12 19 V19.01",
	"done":     "M5 12.5 L10 17.5 L19 6.5",
	"camera":   "M4 8 H8 L10 5 H14 L16 8 H20 V19 H4 Z M15.5 13 A3.5 3.5 0 1 1 8.5 13 A3.5 3.5 0 1 1 15.5 13",
	"aloud":    "M4 9.5 V14.5 H7.5 L12 18.5 V5.5 L7.5 9.5 Z M15.5 9 Q17.5 12 15.5 15 M18.5 6.5 Q22 12 18.5 17.5",
	"hush":     "M6 6 H18 V18 H6 Z",
	"close":    "M6 6 L18 18 M18 6 L6 18",
	"add":      "M12 5 V19 M5 12 H19",
}

// icon is a small drawing beside or in place of a word; it has no name of its own.
// The class is on the element around it: go-app cannot set the class of an SVG one.
func icon(name string) app.UI {
	return app.Span().Class("icon").Aria("hidden", "true").Body(
		svg("svg").Attr("viewBox", "0 0 24 24").Attr("focusable", "false").Body(
			svg("path").Attr("d", icons[name]),
		),
	)
}

// bar is a probability as a length. Beside it the number stands in words.
func bar(class string, p float64) app.UI {
	return app.Span().Class("bar", class).Aria("hidden", "true").Body(
		svg("svg").Attr("focusable", "false").Attr("width", "100%").Attr("height", "100%").Body(
			svg("rect").Attr("width", "100%").Attr("height", "100%"),
			svg("rect").Attr("width", percent(p)).Attr("height", "100%"),
		),
	)
}

// barOf is a length within another.
func barOf(part, whole float64) app.UI {
	return app.Span().Class("bar", "bar-within").Aria("hidden", "true").Body(
		svg("svg").Attr("focusable", "false").Attr("width", "100%").Attr("height", "100%").Body(
			svg("rect").Attr("width", percent(whole)).Attr("height", "100%"),
			svg("rect").Attr("width", percent(part)).Attr("height", "100%"),
		),
	)
}

// percent is a share as an SVG length.
func percent(p float64) string {
	if !(p > 0) {
		p = 0
	}
	return strconv.FormatFloat(min(p, 1)*100, 'f', 2, 64) + "%"
}

// check is a box with its words, as one large target.
func (v *pen) check(class, id, label string, on bool, make func(bool) state.Msg, key any) app.UI {
	h, s := v.toggled(make, key)
	return app.Label().Class("check", class).For(id).Body(
		app.Input().Type("checkbox").ID(id).Checked(on).OnChange(h, s),
		app.Span().Class("check-text").Text(label),
	)
}

// choice is one of several, as a large target.
func (v *pen) choice(group, id, label, more string, on bool, m state.Msg) app.UI {
	return app.Label().Class("choice").For(id).Body(
		app.Input().Type("radio").Name(group).ID(id).Checked(on).OnChange(func(app.Context, app.Event) { v.send(m) }, scope(m)),
		app.Span().Class("choice-text").Body(
			app.Span().Class("choice-title").Text(label),
			app.If(more != "", app.Span().Class("choice-more").Text(more)),
		),
	)
}

// field is an input with its name above it and, if there is one, its help. The
// help describes the input and is no part of its name.
func field(id, name, help string, input app.UI) app.UI {
	return app.Div().Class("field").Body(
		app.Label().Class("field-name").For(id).Text(name),
		app.If(help != "", app.P().Class("field-help").ID(id+"-help").Text(help)),
		input,
	)
}
