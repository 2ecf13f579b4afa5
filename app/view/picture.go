package view

import (
	"math"
	"slices"
	"sort"
	"strconv"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A place is a spot's components with the odds that the likeliest of them is faulty.
type place struct {
	id         string
	components []int
	p          float64
}

// places returns the places of a model, the likeliest first.
func places(m *model.Model, o trail.Odds) []place {
	var all []place
	for _, c := range m.Components {
		p := 0.0
		for i := range c.ModeCount {
			p += o.Modes[c.FirstMode+i] // a component is in one mode at most
		}
		i := slices.IndexFunc(all, func(other place) bool { return other.id == c.Place })
		if i < 0 {
			i = len(all)
			all = append(all, place{id: c.Place})
		}
		all[i].components = append(all[i].components, c.Index)
		all[i].p = max(all[i].p, p)
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].p > all[j].p })
	return all
}

// picture is the drive with the suspicion on it: by shade and by the number of dots.
func (v *pen) picture(u *state.Unit) app.UI {
	all := places(u.Model, u.Account.Lines[len(u.Account.Lines)-1].Odds)
	height, shapes := v.suspicion(u.Model, all, u.Place)
	return app.Section().Class("drive").Body(
		app.H3().Text(v.say(words.PictureTitle)),
		app.P().Class("quiet").Text(v.say(words.PictureHelp)),
		// The same places follow as buttons; the picture itself is for the finger and the eye.
		svg("svg").Attr("viewBox", "0 0 "+num(drawingWidth)+" "+num(height)).Aria("hidden", "true").Attr("focusable", "false").Body(shapes...),
		when(u.Place != "", func() app.UI { return v.evidence(u) }),
		app.Div().Class("places").Body(app.Range(all).Slice(func(i int) app.UI {
			pl := all[i]
			return v.act(app.Button().Type("button").Class("button", "place").Aria("pressed", strconv.FormatBool(pl.id == u.Place)), state.LookAt{Place: pl.id}).Body(
				app.Span().Text(v.placeName(u.Model, pl)), app.Span().Class("number").Text(v.words.Percent(pl.p)))
		})),
	)
}

// suspicion draws the places of a model and says how high the drawing is. What the
// family's drawing does not show stands in boxes below it.
func (v *pen) suspicion(m *model.Model, all []place, chosen string) (height float64, shapes []app.UI) {
	var ids []string
	for _, pl := range all {
		ids = append(ids, pl.id)
	}
	d := drawingOf(m.ID, ids)
	var names []app.UI // over all figures, so that none covers them
	find := func(id string) (place, bool) {
		i := slices.Index(ids, id)
		if i < 0 {
			return place{}, false
		}
		return all[i], true
	}
	bottom := 0.0
	if d != nil {
		bottom = d.height
		shapes = append(shapes, drawn("under", d.under)...)
		if d.hidden != "" {
			shapes = append(shapes, path("hidden", d.hidden))
		}
		for _, s := range d.spots {
			pl, ok := find(s.id)
			if !ok {
				shapes = append(shapes, svg("g").Body(drawn("idle", s.figure)...)) // the model has nothing to say of it
				continue
			}
			shapes = append(shapes, v.suspected(s.figure, pl, chosen))
			names = append(names, v.named([]string{v.placeName(m, pl)}, s.name, s.touch, pl, chosen))
		}
		shapes = append(shapes, drawn("over", d.over)...)
	}
	n, top := 0, bottom+plainGap
	if d == nil {
		top = 2
	}
	for _, c := range m.Components { // in the model's order, which stays as the odds move
		pl, _ := find(c.Place)
		if pl.components[0] != c.Index || d != nil && slices.Contains(d.places(), c.Place) {
			continue
		}
		b := plainBox(n, top)
		lines := folded(v.placeName(m, pl), plainRoom)
		shapes = append(shapes, v.suspected(figure{body: box(b.left+1, b.top, plainWidth-2, plainHeight, 8)}, pl, chosen))
		names = append(names, v.named(lines, over(b.left+plainWidth/2, b.top+plainHeight/2-1-plainLine*float64(len(lines)-1)/2), b, pl, chosen))
		n++
	}
	if n > 0 {
		bottom = plainBox(n-1, top).bottom + 2
	}
	return bottom, append(shapes, names...)
}

// path is one path of a drawing; kind says to the style sheet how it looks.
func path(kind, d string) app.UI {
	return svg("path").Attr("data-draw", kind).Attr("d", d)
}

// drawn is a figure that takes no suspicion.
func drawn(kind string, f figure) []app.UI {
	var out []app.UI
	if f.body != "" {
		out = append(out, path(kind, f.body))
	}
	if f.lines != "" {
		out = append(out, path("lines", f.lines))
	}
	return out
}

// darkest is how much of what it covers the shade of a certain fault hides. The shade
// grows with the root of the odds, so that a few per cent can be told from none.
const darkest = 0.75

// suspected is a figure with its place's suspicion as a shade.
func (v *pen) suspected(f figure, pl place, chosen string) app.UI {
	h, sc := v.tap(state.LookAt{Place: pl.id})
	kind := "body"
	if pl.id == chosen {
		kind = "chosen"
	}
	shade := svg("path").Attr("data-draw", "shade").Attr("d", f.body).Attr("fill-opacity", strconv.FormatFloat(darkest*math.Sqrt(pl.p), 'f', 3, 64))
	return svg("g").Attr("data-place", pl.id).Attr(browser.GuardedMark, sc).OnClick(h, sc).Body(
		append([]app.UI{path(kind, f.body), shade}, drawn("", figure{lines: f.lines})...)...)
}

// named is the name of a place in lines, the dots of its suspicion below, and the
// area that takes a tap, which is framed while the place is looked at.
func (v *pen) named(lines []string, at label, touch area, pl place, chosen string) app.UI {
	h, sc := v.tap(state.LookAt{Place: pl.id})
	var out []app.UI
	for i, text := range lines {
		out = append(out, svg("text").Attr("data-draw", "name").Attr("x", num(at.x)).Attr("y", num(at.y+plainLine*float64(i))).Attr("text-anchor", at.anchor).Text(text))
	}
	at.y += plainLine * float64(len(lines)-1)
	for i := range dots(pl.p) {
		x, y := at.dot(i, dots(pl.p))
		out = append(out, svg("circle").Attr("data-draw", "dot").Attr("cx", num(x)).Attr("cy", num(y)).Attr("r", num(dotRadius)))
	}
	kind := "touch"
	if pl.id == chosen {
		kind = "touch chosen"
	}
	out = append(out, svg("rect").Attr("data-draw", kind).Attr("x", num(touch.left)).Attr("y", num(touch.top)).
		Attr("width", num(touch.right-touch.left)).Attr("height", num(touch.bottom-touch.top)).Attr("rx", "8"))
	return svg("g").Attr("data-place", pl.id).Attr(browser.GuardedMark, sc).OnClick(h, sc).Body(out...)
}

// dots are the mark beside the shade: one from 5 %, two from 20 %, three from 50 %.
func dots(p float64) int {
	n := 0
	for _, level := range []float64{0.05, 0.2, 0.5} {
		if p >= level {
			n++
		}
	}
	return n
}

// familyPicture is the face of a family's drive, without suspicion; nothing for a
// model that none is drawn of.
func familyPicture(id string) app.UI {
	i := slices.IndexFunc(drawings(), func(d *drawing) bool { return d.id == id })
	if i < 0 {
		return app.Span().Class("family-picture")
	}
	d := drawings()[i]
	shapes := drawn("under", d.under)
	for _, s := range d.spots {
		if s.touch.top >= d.face.top && s.touch.bottom <= d.face.bottom {
			shapes = append(shapes, drawn("body", s.figure)...)
		}
	}
	shapes = append(shapes, drawn("over", d.over)...)
	view := num(d.face.left) + " " + num(d.face.top) + " " + num(d.face.right-d.face.left) + " " + num(d.face.bottom-d.face.top)
	return app.Span().Class("family-picture").Aria("hidden", "true").Body(
		svg("svg").Attr("viewBox", view).Attr("focusable", "false").Body(shapes...))
}

// placeName is the short name of a place, or its components' if it has none.
func (v *pen) placeName(m *model.Model, pl place) string {
	if name, ok := v.words.Place(pl.id); ok {
		return name
	}
	return v.placeTitle(m, pl)
}

func (v *pen) placeTitle(m *model.Model, pl place) string {
	var names []string
	for _, c := range pl.components {
		names = append(names, titled(m.Components[c].Words, string(m.Components[c].ID)))
	}
	return v.words.List(names...)
}
