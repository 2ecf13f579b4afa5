package view

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A spot is where a place of the models stands on the picture of a drive, seen from
// the side and laid open: the disc and what turns it on the left, the pick-up on
// its rails on the right, the electronics below. Lengths are those of the picture.
type spot struct{ x, y, w, h float64 }

// spots by place. The places are written down in the doc of package catalog.
var spots = map[string]spot{
	"rollers":     {10, 10, 74, 42},
	"tray-drive":  {10, 10, 74, 42},
	"clamp":       {92, 10, 76, 42},
	"entry":       {176, 10, 78, 42},
	"lid-switch":  {262, 10, 88, 42},
	"tray-switch": {262, 10, 88, 42},
	"seat-switch": {262, 10, 88, 42},
	"disc":        {10, 60, 244, 30},
	"hub":         {92, 98, 76, 36},
	"lens":        {186, 98, 68, 42},
	"home-switch": {262, 98, 88, 42},
	"flex":        {10, 98, 74, 90},
	"spindle":     {92, 142, 76, 46},
	"laser":       {186, 146, 68, 42},
	"sled-motor":  {262, 146, 88, 42},
	"sled":        {176, 196, 174, 30},
	"board":       {10, 236, 130, 52},
	"fuse":        {148, 236, 56, 52},
	"supply-plug": {212, 236, 64, 52},
	"supply":      {284, 236, 66, 52},
}

// placeNames are short names of the places, for the picture and its buttons.
var placeNames = map[string]words.Key{
	"rollers":     words.PlaceRollers,
	"tray-drive":  words.PlaceTrayDrive,
	"clamp":       words.PlaceClamp,
	"entry":       words.PlaceEntry,
	"lid-switch":  words.PlaceLidSwitch,
	"tray-switch": words.PlaceTraySwitch,
	"seat-switch": words.PlaceSeatSwitch,
	"disc":        words.PlaceDisc,
	"hub":         words.PlaceHub,
	"lens":        words.PlaceLens,
	"home-switch": words.PlaceHomeSwitch,
	"flex":        words.PlaceFlex,
	"spindle":     words.PlaceSpindle,
	"laser":       words.PlaceLaser,
	"sled-motor":  words.PlaceSledMotor,
	"sled":        words.PlaceSled,
	"board":       words.PlaceBoard,
	"fuse":        words.PlaceFuse,
	"supply-plug": words.PlaceSupplyPlug,
	"supply":      words.PlaceSupply,
}

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
	slices.SortStableFunc(all, func(a, b place) int {
		switch {
		case a.p > b.p:
			return -1
		case a.p < b.p:
			return 1
		}
		return 0
	})
	return all
}

// Picture is the drive with the suspicion on it: by shade and by the number of dots.
type Picture struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Picture) Render() app.UI {
	u := at.shown.Unit
	if u == nil || u.Account == nil || u.Model == nil {
		return app.Div()
	}
	all := places(u.Model, u.Account.Lines[len(u.Account.Lines)-1].Odds)
	var shapes []app.UI
	for _, pl := range all {
		if s, ok := spots[pl.id]; ok {
			shapes = append(shapes, drawn(placeName(u.Model, pl), pl, s, pl.id == u.Place))
		}
	}
	return app.Section().Class("drive").Body(
		app.H3().Text(say(words.PictureTitle)),
		app.P().Class("quiet").Text(say(words.PictureHelp)),
		// The same places follow as buttons; the picture itself is for the finger and the eye.
		svg("svg").Attr("viewBox", "0 0 360 298").Aria("hidden", "true").Attr("focusable", "false").Body(shapes...),
		app.If(u.Place != "", &Evidence{Rev: v.Rev}),
		app.Div().Class("places").Body(app.Range(all).Slice(func(i int) app.UI {
			pl := all[i]
			h, s := tap(state.LookAt{Place: pl.id})
			return app.Button().Type("button").Class("button", "place").Aria("pressed", strconv.FormatBool(pl.id == u.Place)).OnClick(h, s).Body(
				app.Span().Text(placeName(u.Model, pl)), app.Span().Class("number").Text(speech().Percent(pl.p)))
		})),
	)
}

func drawn(name string, pl place, s spot, chosen bool) app.UI {
	h, sc := tap(state.LookAt{Place: pl.id})
	frame := "plain"
	if chosen {
		frame = "chosen"
	}
	x, y := s.x+s.w/2, s.y+s.h/2
	return svg("g").Attr("data-place", pl.id).OnClick(h, sc).Body(
		svg("rect").Attr("data-frame", frame).Attr("x", num(s.x)).Attr("y", num(s.y)).Attr("width", num(s.w)).Attr("height", num(s.h)).Attr("rx", "6"),
		svg("rect").Attr("data-shade", "").Attr("x", num(s.x)).Attr("y", num(s.y)).Attr("width", num(s.w)).Attr("height", num(s.h)).Attr("rx", "6").
			Attr("fill-opacity", num(0.6*math.Sqrt(pl.p))),
		svg("text").Attr("data-name", "").Attr("x", num(x)).Attr("y", num(y-3)).Attr("text-anchor", "middle").Text(name),
		svg("text").Attr("x", num(x)).Attr("y", num(y+10)).Attr("text-anchor", "middle").Text(strings.TrimSpace(speech().Percent(pl.p)+" "+dots(pl.p))),
	)
}

// dots are the mark beside the shade: one from 5 %, two from 20 %, three from 50 %.
func dots(p float64) string {
	n := 0
	for _, level := range []float64{0.05, 0.2, 0.5} {
		if p >= level {
			n++
		}
	}
	return strings.Repeat("●", n)
}

// placeName is the short name of a place, or its components' if it has none.
func placeName(m *model.Model, pl place) string {
	if k, ok := placeNames[pl.id]; ok {
		return say(k)
	}
	return placeTitle(m, pl)
}

func placeTitle(m *model.Model, pl place) string {
	var names []string
	for _, c := range pl.components {
		names = append(names, titled(m.Components[c].Words, string(m.Components[c].ID)))
	}
	return speech().List(names...)
}

// Evidence is what speaks for and against the modes of the chosen place.
type Evidence struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Evidence) Render() app.UI {
	u := at.shown.Unit
	if u == nil || u.Account == nil || u.Model == nil {
		return app.Div()
	}
	m := u.Model
	odds := u.Account.Lines[len(u.Account.Lines)-1].Odds
	var modes []int
	title := u.Place
	for _, pl := range places(m, odds) {
		if pl.id != u.Place {
			continue
		}
		title = placeTitle(m, pl)
		for _, c := range pl.components {
			for i := range m.Components[c].ModeCount {
				modes = append(modes, m.Components[c].FirstMode+i)
			}
		}
	}
	tests := bearing(u, modes)
	return app.Section().Class("evidence").Aria("label", title).Body(
		app.H3().Text(title),
		app.Range(modes).Slice(func(i int) app.UI {
			mode := modes[i]
			told := evidenceOf(u, mode)
			return app.Div().Class("evidence-mode").Body(
				app.Ul().Class("suspects").Body(suspect(u, odds, mode)),
				app.If(len(told) == 0, app.P().Class("quiet").Text(say(words.EvidenceNone))),
				app.Ul().Class("evidence-list").Body(app.Range(told).Slice(func(j int) app.UI { return app.Li().Text(told[j]) })),
			)
		}),
		app.If(len(tests) > 0, app.Details().Class("more").Body(
			app.Summary().Text(say(words.EvidenceTests)),
			app.Ul().Class("offers").Body(app.Range(tests).Slice(func(i int) app.UI { return offer(u, tests[i]) })),
		)),
	)
}

// evidenceOf lists the results that moved a mode by a deciban or more.
func evidenceOf(u *state.Unit, mode int) []string {
	var out []string
	for _, l := range u.Account.Lines {
		if l.Decibans == nil || math.IsNaN(l.Decibans[mode]) || math.Abs(l.Decibans[mode]) < 1 {
			continue
		}
		db := l.Decibans[mode]
		key := words.EvidenceFor
		if db < 0 {
			key = words.EvidenceAgainst
		}
		out = append(out, say(key, speech().Decimal(math.Abs(db), 1), l.N, eventTitle(u.Model, u.Trail, u.Trail.Events[l.N-1])))
	}
	return out
}

// bearing returns the proposals whose test tells something of one of the modes.
func bearing(u *state.Unit, modes []int) []plan.Proposal {
	var out []plan.Proposal
	for _, p := range u.Proposals {
		if p.Step.Kind != plan.DoTest {
			continue
		}
		for _, g := range u.Model.Tests[p.Step.Index].Given {
			if slices.Contains(modes, g.Mode) {
				out = append(out, p)
				break
			}
		}
	}
	return out
}
