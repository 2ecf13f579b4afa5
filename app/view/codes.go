package view

import (
	"strconv"
	"strings"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/app/words"
)

// quietZone is the white around a code, in modules. Source: ISO/IEC 18004.
const quietZone = 4

// codes shows a unit's QR codes, one at a time.
func (v *pen) codes(u *state.Unit) app.UI {
	c := u.Codes
	if len(c.List) == 0 {
		text := v.say(words.CodesMaking)
		if c.Large {
			text = v.say(words.CodesLarge)
		}
		return app.P().Role("status").Text(text)
	}
	n := len(c.List)
	play, on := words.CodesPlay, true
	if c.Turning {
		play, on = words.CodesPause, false
	}
	return app.Div().Class("codes").Body(
		v.code(c.List[c.At], v.say(words.CodeOf, c.At+1, n)),
		app.P().Class("code-number").Text(v.say(words.CodeOf, c.At+1, n)),
		when(n > 1, func() app.UI {
			return app.Div().Class("row").Body(
				v.button("button-plain", v.say(words.CodeBefore), state.TurnCode{To: (c.At + n - 1) % n}),
				v.button("button-plain", v.say(words.CodeNext), state.TurnCode{To: (c.At + 1) % n}),
				v.button("button-plain", v.say(play), state.PlayCodes{On: on}),
			)
		}),
		app.P().Text(v.say(words.CodesHelp)),
		app.P().Class("quiet").Text(v.say(words.CodesModel)),
	)
}

// code draws a code: black on white in any light, for that is what is read.
func (v *pen) code(c state.Code, name string) app.UI {
	side := strconv.Itoa(c.Side + 2*quietZone)
	return app.Div().Class("code").Body(
		svg("svg").Attr("viewBox", "0 0 "+side+" "+side).Attr("shape-rendering", "crispEdges").Role("img").Aria("label", name).Body(
			svg("path").Class("code-dark").Attr("d", codePath(c)),
		),
	)
}

// codePath is the dark modules of a code, run by run.
func codePath(c state.Code) string {
	var b strings.Builder
	for y := range c.Side {
		row := c.Dark[y*c.Side : (y+1)*c.Side]
		for x := 0; x < len(row); x++ {
			from := x
			for x < len(row) && row[x] {
				x++
			}
			if x > from {
				run := strconv.Itoa(x - from)
				b.WriteString("M" + strconv.Itoa(from+quietZone) + " " + strconv.Itoa(y+quietZone) + "h" + run + "v1h-" + run + "z")
			}
		}
	}
	return b.String()
}

// reader is where a unit comes in by its codes.
func (v *pen) reader(s state.State) app.UI {
	if !s.CanRead {
		return app.P().Text(v.say(words.ReadNone))
	}
	r := s.Reader
	says := v.readerSays(r)
	return app.Div().Class("codes").Body(
		when(r.Camera, func() app.UI {
			return app.Video().ID(browser.CodeView).Class("code-view").Muted(true).Attr("playsinline", "")
		}),
		app.Div().Role("status").Aria("live", "polite").Body(app.Range(says).Slice(func(i int) app.UI { return app.P().Text(says[i]) })),
		app.Div().Class("row").Body(
			app.If(!r.Camera, v.button("button-plain", v.say(words.ReadCamera), state.LookForCodes{})),
			app.If(r.Camera, v.button("button-plain", v.say(words.ReadStop), state.StopLooking{})),
			v.codeButton(),
			app.If(r.Of > 0, v.button("button-plain", v.say(words.ReadAnew), state.CodesAnew{})),
		),
	)
}

// readerSays is how far the reading is, and what is to be said of what was seen last.
func (v *pen) readerSays(r state.Reader) []string {
	var lines []string
	switch {
	case r.Of > 0:
		lines = append(lines, v.say(words.ReadGot, r.Of-len(r.Missing), r.Of))
		if len(r.Missing) > 0 {
			var numbers []string
			for _, n := range r.Missing {
				numbers = append(numbers, strconv.Itoa(n))
			}
			lines = append(lines, v.say(words.ReadMissing, v.words.List(numbers...)))
		}
	case r.Camera:
		lines = append(lines, v.say(words.ReadAim))
	}
	switch r.Said {
	case state.ReaderBlind:
		lines = append(lines, v.say(words.ReadBlind))
	case state.ReaderEmpty:
		lines = append(lines, v.say(words.ReadEmpty, short(r.Name, labelShown)))
	case state.ReaderForeign:
		lines = append(lines, v.say(words.ReadForeign))
	case state.ReaderDamaged:
		lines = append(lines, v.say(words.ReadDamaged))
	case state.ReaderOther:
		lines = append(lines, v.say(words.ReadOther))
	}
	return lines
}

// codeButton is the field for photographs of codes.
func (v *pen) codeButton() app.UI {
	h, s := v.tap(state.PickCodes{})
	return app.Label().Class("button", "button-plain", "button-file").For(browser.CodeField).Body(
		app.Input().ID(browser.CodeField).Type("file").Accept("image/jpeg,image/png,image/webp,image/gif").Multiple(true).OnChange(h, s),
		app.Span().Text(v.say(words.ReadPictures)),
	)
}
