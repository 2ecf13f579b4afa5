package view

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/maxence-charriere/go-app/v9/pkg/app"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// smallest is the least width and height of what takes a finger, in CSS pixels.
// Source: WCAG 2.2, success criterion 2.5.5.
const smallest = 44.0

// in is a pen of a language.
func in(lang string) *pen {
	return &pen{words: words.In(lang), zone: time.UTC, send: func(state.Msg) {}, fields: map[string]*typing{}}
}

func english() *pen { return in("en") }

func TestEveryPlaceOfAFamilyIsDrawnAndNothingElse(t *testing.T) {
	var ids []string
	for _, d := range drawings() {
		ids = append(ids, d.id)
		t.Run(d.id, func(t *testing.T) {
			m, err := catalog.Load(d.id)
			require.NoError(t, err)
			want := placesOf(m)
			assert.ElementsMatch(t, want, d.places())
			assert.Same(t, d, drawingOf(m.ID, want))
			for _, id := range want {
				_, named := words.In("en").Place(id)
				assert.True(t, named, "a short name")
			}
		})
	}
	var shipped []string
	for _, e := range catalog.Models() {
		shipped = append(shipped, e.ID)
	}
	assert.ElementsMatch(t, shipped, ids)
}

func placesOf(m *model.Model) []string {
	var ids []string
	for _, c := range m.Components {
		if !slices.Contains(ids, c.Place) {
			ids = append(ids, c.Place)
		}
	}
	return ids
}

// box is the room that a name takes with all its dots.
func (l label) box(name string) area {
	w := max(nameWidth(name), 2*dotRadius+2*dotStep)
	left := l.x
	switch l.anchor {
	case "middle":
		left -= w / 2
	case "end":
		left -= w
	}
	return area{left, l.y - 0.87*nameSize, left + w, l.y + dotDown + dotRadius}
}

func (a area) meets(b area) bool {
	return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom
}

func (a area) holds(b area) bool {
	return a.left <= b.left && a.right >= b.right && a.top <= b.top && a.bottom >= b.bottom
}

func TestNamesKeepApart(t *testing.T) {
	for _, d := range drawings() {
		for _, l := range words.Languages() {
			t.Run(d.id+" in "+l.Name, func(t *testing.T) {
				whole := area{0, 0, drawingWidth, d.height}
				names := make([]area, len(d.spots))
				for i, s := range d.spots {
					name, _ := words.In(l.ID).Place(s.id)
					names[i] = s.name.box(name)
					assert.True(t, whole.holds(names[i]), "%q is in the drawing: %v", name, names[i])
					for k := range i {
						assert.False(t, names[i].meets(names[k]), "%q and the name of %s", name, d.spots[k].id)
					}
				}
			})
		}
	}
}

// TestEveryPlaceCanBeTouched holds for the narrowest page: there a unit is a CSS pixel.
func TestEveryPlaceCanBeTouched(t *testing.T) {
	for _, d := range drawings() {
		t.Run(d.id, func(t *testing.T) {
			whole := area{0, 0, drawingWidth, d.height}
			for i, s := range d.spots {
				assert.GreaterOrEqual(t, s.touch.right-s.touch.left, smallest, "%s is wide enough", s.id)
				assert.GreaterOrEqual(t, s.touch.bottom-s.touch.top, smallest, "%s is high enough", s.id)
				assert.True(t, whole.holds(s.touch), "%s is in the drawing", s.id)
				middle := s.name.box("")
				for k, other := range d.spots {
					if k < i {
						assert.False(t, s.touch.meets(other.touch), "the areas of %s and %s", s.id, other.id)
					}
					assert.Equal(t, k == i, other.touch.meets(middle), "the name of %s, the area of %s", s.id, other.id)
				}
				assert.True(t, s.touch.meets(reach(t, s.figure.body)), "the area of %s is where it is drawn", s.id)
			}
		})
	}
}

// TestFiguresStayInTheDrawing follows every path of every drawing.
func TestFiguresStayInTheDrawing(t *testing.T) {
	for _, d := range drawings() {
		whole := area{0, 0, drawingWidth, d.height}
		all := map[string]string{"under": d.under.body + d.under.lines, "over": d.over.body + d.over.lines, "hidden": d.hidden}
		for _, s := range d.spots {
			all[s.id] = s.figure.body + s.figure.lines
			assert.True(t, strings.HasSuffix(s.figure.body, "Z"), "%s: the figure of %s is closed", d.id, s.id)
		}
		for id, path := range all {
			if path != "" {
				assert.True(t, whole.holds(reach(t, path)), "%s: %s reaches %v", d.id, id, reach(t, path))
			}
		}
	}
}

// reach returns the rectangle around a path. Of curves it looks at the ends, and of
// half a circle, from left to right or back, at the middle as well.
func reach(t *testing.T, path string) area {
	t.Helper()
	numbers := map[byte]int{'M': 2, 'L': 2, 'H': 1, 'V': 1, 'A': 7, 'Q': 4, 'T': 2, 'Z': 0}
	a := area{1e9, 1e9, -1e9, -1e9}
	var x, y, startX, startY float64
	for len(path) > 0 {
		op := path[0]
		next := strings.IndexAny(path[1:], "MLHVAQTZmlhvaqtz") + 1
		if next == 0 {
			next = len(path)
		}
		var at []float64
		for _, f := range strings.Fields(path[1:next]) {
			v, err := strconv.ParseFloat(f, 64)
			require.NoError(t, err)
			at = append(at, v)
		}
		path = path[next:]
		up := strings.ToUpper(string(op))[0]
		n, ok := numbers[up]
		require.True(t, ok, "the command %q", op)
		require.Len(t, at, n, "numbers of the command %q", op)
		beforeX, beforeY := x, y
		fromX, fromY := 0.0, 0.0
		if op != up {
			fromX, fromY = x, y
		}
		switch up {
		case 'H':
			x = fromX + at[0]
		case 'V':
			y = fromY + at[0]
		case 'Z':
			x, y = startX, startY
		default:
			x, y = fromX+at[n-2], fromY+at[n-1]
		}
		if up == 'A' && math.Abs(y-beforeY) < 0.1 && math.Abs(math.Abs(x-beforeX)-2*at[0]) < 0.15 { // half a circle
			if (x > beforeX) == (at[4] == 1) {
				a.top = min(a.top, y-at[1])
			} else {
				a.bottom = max(a.bottom, y+at[1])
			}
		}
		if up == 'M' {
			startX, startY = x, y
		}
		a = area{min(a.left, x), min(a.top, y), max(a.right, x), max(a.bottom, y)}
	}
	return a
}

func TestTheDrawingThatFitsIsChosen(t *testing.T) {
	topLoader, tray, slotIn := drawings()[0], drawings()[1], drawings()[2]
	without := func(places []string, gone ...string) []string {
		return slices.DeleteFunc(slices.Clone(places), func(id string) bool { return slices.Contains(gone, id) })
	}
	for _, c := range []struct {
		name   string
		model  string
		places []string
		want   *drawing
	}{
		{name: "a shipped model", model: "tray", places: tray.places(), want: tray},
		{name: "a model of the same places and another name", model: "mine", places: slotIn.places(), want: slotIn},
		{name: "fewer places, one of which tells the family", model: "mine", places: []string{"disc", "lens", "lid-switch"}, want: topLoader},
		{name: "fewer places that all families have", model: "mine", places: []string{"disc", "lens", "board"}},
		{name: "the same of a shipped family", model: "slot-in", places: []string{"disc", "lens", "board"}, want: slotIn},
		{name: "a place more than the family has", model: "mine", places: append(topLoader.places(), "fan"), want: topLoader},
		{name: "a place more and one less", model: "mine", places: append(without(topLoader.places(), "fuse"), "fan")},
		{name: "two families at once", model: "mine", places: append(topLoader.places(), "tray-switch")[1:]},
		{name: "nothing known", model: "tray", places: []string{"a", "b"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Same(t, c.want, drawingOf(c.model, c.places))
		})
	}
}

// own is a model of a repairer's own: n places, named by its components.
func own(n int, title func(i int) string) *model.Model {
	m := &model.Model{ID: "mine"}
	for i := range n {
		m.Components = append(m.Components, model.Component{Index: i, Place: fmt.Sprintf("p%d", i), FirstMode: i, ModeCount: 1,
			ID: model.ComponentID(fmt.Sprintf("part-%d", i)), Words: model.Words{Title: title(i)}})
		m.Modes = append(m.Modes, model.Mode{Component: i})
	}
	return m
}

func TestAModelOfUnknownPlacesShowsThemAll(t *testing.T) {
	titles := map[string]func(i int) string{
		"short titles": func(i int) string { return fmt.Sprintf("Part %d", i) },
		"no titles":    func(int) string { return "" },
		"long titles":  func(i int) string { return fmt.Sprintf("%d ", i) + strings.Repeat("Uninterruptedgreyplastic", 1+i%3) },
		"many words":   func(i int) string { return fmt.Sprintf("%d small part of the arm that swings the motor over", i) },
		"wide letters": func(i int) string { return fmt.Sprint(i) + strings.Repeat("送りモーター", 5) },
	}
	for name, title := range titles {
		for _, n := range []int{1, 2, 7, 64} {
			t.Run(fmt.Sprintf("%d places, %s", n, name), func(t *testing.T) {
				m := own(n, title)
				odds := trail.Odds{Modes: make([]float64, n)}
				odds.Modes[n-1] = 0.6
				height, shapes := english().suspicion(m, places(m, odds), "p0")
				seen := readPicture(t, shapes)
				require.Len(t, seen, n)
				var areas []area
				for i := range n {
					s := seen[fmt.Sprintf("p%d", i)]
					require.Equal(t, 1, s.figures)
					text := strings.Join(s.lines, " ")
					whole := english().placeName(m, place{id: "p", components: []int{i}})
					assert.True(t, text == whole || strings.HasPrefix(strings.ReplaceAll(whole, " ", ""), strings.ReplaceAll(strings.TrimSuffix(text, "…"), " ", "")), text)
					assert.True(t, len(s.lines) == 1 || len(s.lines) == 2)
					for _, l := range s.lines {
						assert.LessOrEqual(t, nameWidth(l), plainRoom, l)
					}
					assert.True(t, area{0, 0, drawingWidth, height}.holds(s.touch))
					assert.GreaterOrEqual(t, s.touch.right-s.touch.left, smallest)
					assert.GreaterOrEqual(t, s.touch.bottom-s.touch.top, smallest)
					for _, other := range areas {
						assert.False(t, s.touch.meets(other))
					}
					areas = append(areas, s.touch)
				}
				assert.Equal(t, 3, seen[fmt.Sprintf("p%d", n-1)].dots)
			})
		}
	}
}

func TestPlacesThatAFamilyLacksStandBelowItsDrawing(t *testing.T) {
	shipped, err := catalog.Load("tray")
	require.NoError(t, err)
	m := *shipped
	m.ID = "mine"
	m.Components = append(slices.Clone(m.Components), model.Component{Index: len(m.Components), Place: "fan", ID: "fan", FirstMode: len(m.Modes), ModeCount: 1})
	odds := trail.Odds{Modes: make([]float64, len(m.Modes)+1)}
	height, shapes := english().suspicion(&m, places(&m, odds), "")
	seen := readPicture(t, shapes)
	require.Len(t, seen, len(tray().spots)+1)
	assert.Equal(t, []string{"fan"}, seen["fan"].lines)
	assert.Greater(t, seen["fan"].touch.top, tray().height)
	assert.Less(t, seen["fan"].touch.bottom, height)
}

func TestSuspicionIsShownByShadeAndDots(t *testing.T) {
	for _, c := range []struct {
		p    float64
		dots int
	}{{0, 0}, {0.049, 0}, {0.05, 1}, {0.19, 1}, {0.2, 2}, {0.49, 2}, {0.5, 3}, {1, 3}} {
		m := own(1, func(int) string { return "Arm" })
		_, shapes := english().suspicion(m, places(m, trail.Odds{Modes: []float64{c.p}}), "")
		s := readPicture(t, shapes)["p0"]
		assert.Equal(t, c.dots, s.dots, "%v", c.p)
		assert.InDelta(t, 0.5625*c.p, s.shade*s.shade, 1e-3, "%v", c.p) // 0.75 at its most
	}
}

// TestEveryPlaceIsNamedInEveryLanguage draws the shipped families as the page does:
// what the picture names, a button beside it names too, with its odds.
func TestEveryPlaceIsNamedInEveryLanguage(t *testing.T) {
	for _, d := range drawings() {
		m, err := catalog.Load(d.id)
		require.NoError(t, err)
		odds := trail.Odds{Modes: make([]float64, len(m.Modes))}
		odds.Modes[0] = 0.25
		for _, l := range words.Languages() {
			t.Run(d.id+" in "+l.Name, func(t *testing.T) {
				u := &state.Unit{AtHand: state.AtHand{Place: "lens"}, Unit: bench.Unit{Model: m,
					Account: &trail.Account{Lines: []trail.Line{{Odds: odds}}}, Trail: &trail.Trail{}}}
				doc := parsed(t, in(l.ID).picture(u))
				seen := readNodes(t, doc)
				buttons := map[string]bool{}
				find(doc, "button", func(n *html.Node) { buttons[strings.Join(strings.Fields(textIn(n)), " ")] = true })
				for _, s := range d.spots {
					name, _ := words.In(l.ID).Place(s.id)
					assert.Equal(t, []string{name}, seen[s.id].lines)
					assert.Equal(t, s.id == "lens", seen[s.id].chosen, s.id)
					p := 0.0
					if s.id == m.Components[0].Place {
						p = 0.25
					}
					assert.True(t, buttons[strings.Join(strings.Fields(name+" "+words.In(l.ID).Percent(p)), " ")], "%s is a button with its odds: %v", name, buttons)
				}
			})
		}
	}
}

// TestTheFaceOfAFamilyShowsWhatTellsIt looks at the small picture of the intake.
func TestTheFaceOfAFamilyShowsWhatTellsIt(t *testing.T) {
	telling := map[string][]string{
		"top-loader": {"clamp", "lid-switch", "disc", "hub"},
		"tray":       {"tray-drive", "tray-switch", "disc", "hub"},
		"slot-in":    {"rollers", "entry", "seat-switch", "disc", "hub"},
	}
	for _, d := range drawings() {
		var paths []string
		find(parsed(t, familyPicture(d.id)), "path", func(n *html.Node) { paths = append(paths, attrOf(n, "d")) })
		for _, s := range d.spots {
			if slices.Contains(telling[d.id], s.id) {
				assert.Contains(t, paths, s.figure.body, "%s of %s", s.id, d.id)
			}
		}
	}
	find(parsed(t, familyPicture("mine")), "path", func(*html.Node) { t.Error("no picture of an unknown family") })
}

func TestNamesAreFolded(t *testing.T) {
	for _, c := range []struct {
		name string
		want []string
	}{
		{"", nil},
		{"Lens", []string{"Lens"}},
		{"  Lens   coils ", []string{"Lens coils"}},
		{"Turning mirror under the lens", []string{"Turning mirror", "under the lens"}},
		{"Hub and clamp that hold the owner's disc", []string{"Hub and clamp", "that hold the o…"}},
		{strings.Repeat("a", 40), []string{strings.Repeat("a", 14), strings.Repeat("a", 13) + "…"}},
	} {
		assert.Equal(t, c.want, folded(c.name, plainRoom), c.name)
	}
}

// A seenPlace is what of a place is on a picture.
type seenPlace struct {
	figures, dots int
	shade         float64
	chosen        bool
	lines         []string
	touch         area
}

func readPicture(t *testing.T, shapes []app.UI) map[string]seenPlace {
	t.Helper()
	return readNodes(t, parsed(t, svg("svg").Body(shapes...)))
}

func readNodes(t *testing.T, doc *html.Node) map[string]seenPlace {
	t.Helper()
	seen := map[string]seenPlace{}
	number := func(n *html.Node, key string) float64 {
		v, err := strconv.ParseFloat(attrOf(n, key), 64)
		require.NoError(t, err)
		return v
	}
	find(doc, "g", func(g *html.Node) {
		id := attrOf(g, "data-place")
		if id == "" {
			return
		}
		s := seen[id]
		for n := g.FirstChild; n != nil; n = n.NextSibling {
			switch attrOf(n, "data-draw") {
			case "body":
				s.figures++
			case "chosen":
				s.figures++
				s.chosen = true
			case "shade":
				s.shade = number(n, "fill-opacity")
			case "name":
				s.lines = append(s.lines, textIn(n))
			case "dot":
				s.dots++
			case "touch", "touch chosen":
				assert.Equal(t, s.chosen, attrOf(n, "data-draw") == "touch chosen", "%s: the figure and the frame", id)
				x, y := number(n, "x"), number(n, "y")
				s.touch = area{x, y, x + number(n, "width"), y + number(n, "height")}
			}
		}
		seen[id] = s
	})
	return seen
}

func parsed(t *testing.T, ui app.UI) *html.Node {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(app.HTMLString(ui)))
	require.NoError(t, err)
	return doc
}

func find(n *html.Node, tag string, f func(*html.Node)) {
	if n.Type == html.ElementNode && n.Data == tag {
		f(n)
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		find(c, tag, f)
	}
}

func textIn(n *html.Node) string {
	if n.Type == html.TextNode {
		return n.Data
	}
	var b strings.Builder
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		b.WriteString(textIn(c))
	}
	return strings.TrimSpace(b.String())
}

func attrOf(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}
