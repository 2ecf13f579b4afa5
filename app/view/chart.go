package view

import (
	"slices"
	"strconv"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/trail"
)

// charted is how many modes the chart of the evening follows: more lines than that
// cannot be told apart in black and white.
const charted = 4

// sound stands for "nothing wrong" among the modes of the chart.
const sound = -1

// worthALine is the probability that a mode has to reach, now or on the way, to get
// a line once others have.
const worthALine = 0.05

const (
	// A unit is about a CSS pixel on the narrowest phone.
	chartWidth, chartHeight    = 320.0, 200.0
	chartLeft, chartTop        = 54.0, 10.0
	chartPlotWide, chartPlotHi = 256.0, 158.0
	numberWide                 = 9.0 // a digit below the chart
)

// chart is the evening of a unit whose odds are worked out: those of the leading modes, and of
// nothing being wrong, after each step. Lines differ by dashes and by the signs on them, not
// by colour.
func (v *pen) chart(u *state.Unit) app.UI {
	if len(u.Account.Lines) < 2 {
		return app.Div()
	}
	lines := u.Account.Lines
	modes := followed(lines)
	shapes := v.grid(u)
	for k, mode := range modes {
		shapes = append(shapes, course(kindOf(k, mode), mode, lines)...)
	}
	return app.Section().Class("chart").Body(
		app.H3().Text(v.say(words.ChartTitle)),
		svg("svg").Attr("viewBox", "0 0 "+num(chartWidth)+" "+num(chartHeight)).Role("img").Aria("label", v.chartLabel(u, modes)).Body(shapes...),
		app.Ul().Class("legend").Body(app.Range(modes).Slice(func(k int) app.UI {
			kind := kindOf(k, modes[k])
			return app.Li().Body(
				svg("svg").Attr("viewBox", "0 0 44 16").Aria("hidden", "true").Body(
					svg("path").Attr("data-line", kind).Attr("d", "M2 8 H42"), sign(kind, 22, 8)),
				app.Span().Text(v.courseTitle(u, modes[k])),
				app.Span().Class("number").Text(v.words.Percent(chance(lines[len(lines)-1], modes[k]))),
			)
		})),
		app.P().Class("quiet").Text(v.say(words.ChartHelp)),
	)
}

// followed are the modes that lead now or led at some time of the evening, most odds
// first, and then that nothing is wrong.
func followed(lines []trail.Line) []int {
	most := make([]float64, len(lines[0].Modes))
	well := 0.0
	for _, l := range lines {
		for i, p := range l.Modes {
			most[i] = max(most[i], p)
		}
		well = max(well, l.Sound)
	}
	last := lines[len(lines)-1].Modes
	order := trail.Odds{Modes: last}.Ranked()
	var picked []int
	// Half for where it stands now, half for what led on the way here.
	for _, i := range order[:min(charted/2, len(order))] {
		if last[i] >= worthALine {
			picked = append(picked, i)
		}
	}
	for _, i := range (trail.Odds{Modes: most}).Ranked() {
		if len(picked) == min(charted, len(order)) || len(picked) > 0 && most[i] < worthALine {
			break
		}
		if !slices.Contains(picked, i) {
			picked = append(picked, i)
		}
	}
	slices.SortStableFunc(picked, func(a, b int) int { return slices.Index(order, a) - slices.Index(order, b) })
	if well >= worthALine {
		picked = append(picked, sound)
	}
	return picked
}

// chance is the probability that the chart shows for one of followed at a line.
func chance(l trail.Line, mode int) float64 {
	if mode == sound {
		return l.Sound
	}
	return l.Modes[mode]
}

func (v *pen) courseTitle(u *state.Unit, mode int) string {
	if mode == sound {
		return v.say(words.Faults, 0)
	}
	return modeTitle(u.Model, mode)
}

// kindOf is which dash and sign the k-th line has: that of "nothing wrong" is its own.
func kindOf(k, mode int) int {
	if mode == sound {
		return charted
	}
	return k
}

func chartX(i, n int) float64  { return chartLeft + chartPlotWide*float64(i)/float64(max(n-1, 1)) }
func chartY(p float64) float64 { return chartTop + chartPlotHi*(1-p) }

func num(x float64) string { return strconv.FormatFloat(x, 'f', 1, 64) }

// grid is the frame of the chart: levels, step numbers, and a mark under each
// repair (a square) and each event taken back (a cross).
func (v *pen) grid(u *state.Unit) []app.UI {
	lines := u.Account.Lines
	var out []app.UI
	for _, p := range []float64{0, 0.5, 1} {
		y := num(chartY(p))
		out = append(out,
			svg("path").Attr("data-grid", "level").Attr("d", "M"+num(chartLeft)+" "+y+" H"+num(chartLeft+chartPlotWide)),
			svg("text").Attr("x", num(chartLeft-4)).Attr("y", num(chartY(p)+4.5)).Attr("text-anchor", "end").Text(v.words.Percent(p)),
		)
	}
	every, clear := 1+u.Steps()/12, 0.0
	for i, l := range lines {
		x := chartX(i, len(lines))
		switch {
		case i > 0 && !l.Live:
			out = append(out, svg("path").Attr("data-mark", "void").Attr("d", "M"+num(x-4)+" 173 l8 8 m0 -8 l-8 8"))
		case l.Kind == trail.Repair:
			out = append(out, svg("path").Attr("data-mark", "repair").Attr("d", "M"+num(x-4)+" 173 h8 v8 h-8 z"))
		}
		n := u.Number(l.N)
		if half := numberWide / 2 * float64(len(strconv.Itoa(n))); (i == 0 || n > 0 && n%every == 0) && x-half >= clear {
			clear = x + half + numberWide/2 // events without a number, notes among them, stand beside each other unevenly
			out = append(out, svg("text").Attr("x", num(x)).Attr("y", "197").Attr("text-anchor", "middle").Text(n))
		}
	}
	return out
}

// course is the line of one mode: steps, because the odds hold until the next event.
func course(k, mode int, lines []trail.Line) []app.UI {
	d := "M" + num(chartX(0, len(lines))) + " " + num(chartY(chance(lines[0], mode)))
	var signs []app.UI
	every := 1 + len(lines)/12
	for i := 1; i < len(lines); i++ {
		x, y := chartX(i, len(lines)), chartY(chance(lines[i], mode))
		d += " L" + num(x) + " " + num(y)
		if i%every == 0 || i == len(lines)-1 {
			signs = append(signs, sign(k, x, y))
		}
	}
	return append([]app.UI{svg("path").Attr("data-line", k).Attr("d", d)}, signs...)
}

// sign is what stands on the line of the k-th mode: a disc, a ring, a triangle, a bar;
// on that of "nothing wrong", a diamond.
func sign(k int, x, y float64) app.UI {
	switch k {
	case 0:
		return svg("circle").Attr("data-sign", k).Attr("cx", num(x)).Attr("cy", num(y)).Attr("r", "4")
	case 1:
		return svg("circle").Attr("data-sign", k).Attr("cx", num(x)).Attr("cy", num(y)).Attr("r", "4")
	case 2:
		return svg("path").Attr("data-sign", k).Attr("d", "M"+num(x)+" "+num(y-5)+" l5 9 h-10 z")
	case charted:
		return svg("path").Attr("data-sign", k).Attr("d", "M"+num(x)+" "+num(y-5)+" l5 5 l-5 5 l-5 -5 z")
	}
	return svg("path").Attr("data-sign", k).Attr("d", "M"+num(x-1.5)+" "+num(y-6)+" h3 v12 h-3 z")
}

// chartLabel says the chart in a sentence.
func (v *pen) chartLabel(u *state.Unit, modes []int) string {
	w, lines := v.words, u.Account.Lines
	first, last := lines[0], lines[len(lines)-1]
	var parts []string
	for _, m := range modes {
		parts = append(parts, v.say(words.ChartCourse, v.courseTitle(u, m), w.Percent(chance(first, m)), w.Percent(chance(last, m))))
	}
	return v.say(words.ChartTitle) + ": " + w.List(parts...)
}
