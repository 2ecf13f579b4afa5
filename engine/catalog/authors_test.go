//go:build !wasm

package catalog_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/lint"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// small is the model of AUTHORS.md, with its trail.
type small struct {
	text  []byte
	model *model.Model
	space *belief.Space
	trail *trail.Trail
}

func readSmall(t *testing.T) *small {
	t.Helper()
	text, err := os.ReadFile("authors/shelf-player.json")
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	file, err := os.ReadFile("authors/shelf-player.trail.json")
	require.NoError(t, err)
	tr, err := trail.Load(file)
	require.NoError(t, err)
	require.NoError(t, tr.Check(m))
	require.Equal(t, m.SHA256, tr.Model.SHA256)
	return &small{text, m, s, tr}
}

// row returns the odds of a test's outcomes under some faults, by the engine.
func (s *small) row(t *testing.T, test model.TestID, modes ...model.ModeID) []float64 {
	t.Helper()
	x, ok := s.model.Test(test)
	require.True(t, ok)
	var set []uint16
	for i := range s.model.Modes {
		for _, id := range modes {
			if s.model.Modes[i].ID == id {
				set = append(set, uint16(i))
			}
		}
	}
	require.Len(t, set, len(modes))
	return s.space.OutcomesOf(nil, x.Index, set)
}

// same holds a file to what it should be, or writes it.
func same(t *testing.T, name, want string) {
	t.Helper()
	if os.Getenv("PITWISE_UPDATE") == "1" {
		require.NoError(t, os.WriteFile(name, []byte(want), 0o644))
	}
	got, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, want, string(got), "renew it: PITWISE_UPDATE=1 go test ./engine/catalog -run Authors")
}

func percent(p float64) string { return fmt.Sprintf("%.1f %%", 100*p) }

// TestTheAuthorsPageShowsWhatTheEngineDoes holds every block of AUTHORS.md between two marks,
// <!-- NAME --> and <!-- end -->, to the model file beside it and to the engine.
func TestTheAuthorsPageShowsWhatTheEngineDoes(t *testing.T) {
	s := readSmall(t)
	blocks := map[string]string{
		"model":      "```json\n" + string(s.text) + "```",
		"walk":       s.walk(t),
		"ratios":     s.ratios(t),
		"together":   s.together(t),
		"steadiness": s.steadiness(t),
		"defects":    s.defects(t),
		"evening":    readHinged(t).evening(t),
	}
	for id, block := range second(t) {
		blocks[id] = block
	}
	const name = "AUTHORS.md"
	page, err := os.ReadFile(name)
	require.NoError(t, err)
	used := map[string]bool{}
	want := regexp.MustCompile(`(?s)<!-- ([a-z]+) -->\n(?:.*?\n)??<!-- end -->`).ReplaceAllStringFunc(string(page), func(old string) string {
		id := strings.Fields(old)[1]
		used[id] = true
		require.Contains(t, blocks, id)
		return "<!-- " + id + " -->\n" + blocks[id] + "\n<!-- end -->"
	})
	assert.Len(t, used, len(blocks), "blocks on the page")
	same(t, name, want)
	for _, link := range regexp.MustCompile(`\]\(([^)#:]+)\)`).FindAllStringSubmatch(want, -1) {
		_, err := os.Stat(link[1])
		assert.NoError(t, err, "a link of the page")
	}
}

// second returns what the page shows of the model of version 2: pieces of its text, and the
// chances of a repair that is tried again.
func second(t *testing.T) map[string]string {
	text, err := os.ReadFile("authors/shelf-player-2.json")
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	assert.Equal(t, 2, m.Version)
	assert.Equal(t, "EUR", m.Currency)
	assert.True(t, m.Tests[m.Intake].Told)
	assert.Equal(t, model.TestID("start"), m.Tests[m.Proof].ID)
	piece := func(from, to string) string {
		_, rest, ok := strings.Cut(string(text), from)
		require.True(t, ok, from)
		body, _, ok := strings.Cut(rest, to)
		require.True(t, ok, to)
		return "```json\n" + from + body + to + "\n```"
	}
	clean, ok := m.Repair("clean-lens")
	require.True(t, ok)
	tries := "| try | takes the film away |\n| ---: | ---: |\n"
	for n := range 4 {
		tries += fmt.Sprintf("| %d | %s |\n", n+1, percent(clean.After([]int{n}).Fixes[0].P))
	}
	// By hand: 0.3 × 0.9 / (0.3 + 1) = 0.2077; / (0.3 + 2) = 0.1174.
	assert.Contains(t, tries, "| 2 | 20.8 % |\n| 3 | 11.7 % |")
	pickup, ok := m.Repair("replace-pickup")
	require.True(t, ok)
	assert.Len(t, pickup.OnlyAfter.Any, 2)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	assert.Empty(t, lint.Rows(s))
	return map[string]string{
		"told":   piece(`    {"id": "complaint"`, `"steadiness": 0.5, "source": "memory"},`),
		"wavers": piece(`      {"id": "wavers"`, `"source": "memory"}`),
		"after":  piece(`    {"id": "replace-pickup"`, `"source": "memory"}`),
		"tries":  strings.TrimSuffix(tries, "\n"),
	}
}

// walk is the table of the trail: odds after each event, and what is proposed then.
func (s *small) walk(t *testing.T) string {
	account, err := trail.Replay(s.space, s.trail)
	require.NoError(t, err)
	planner, err := plan.New(s.space, s.trail.Terms)
	require.NoError(t, err)
	var b strings.Builder
	b.WriteString("| n | event |")
	for _, m := range s.model.Modes {
		fmt.Fprintf(&b, " %s |", m.ID)
	}
	b.WriteString(" nothing wrong | then first |\n| ---: | --- |" + strings.Repeat(" ---: |", len(s.model.Modes)+1) + " --- |\n")
	for n, line := range account.Lines {
		event := "before anything was seen"
		if n > 0 {
			e := s.trail.Events[n-1]
			switch e.Kind {
			case trail.Result:
				event = string(e.Test) + ": " + string(e.Outcome)
				if e.Reading != nil {
					event = fmt.Sprintf("%s: %v V", e.Test, *e.Reading)
				}
			case trail.Setup:
				event = "setup " + string(e.Setup)
			case trail.Repair:
				event = "repair " + string(e.Repair)
			case trail.End:
				event = "signed off"
			}
		}
		fmt.Fprintf(&b, "| %d | %s |", n, event)
		for i := range s.model.Modes {
			fmt.Fprintf(&b, " %s |", percent(line.Modes[i]))
		}
		next := ""
		if n < len(s.trail.Events) { // after the end nothing is proposed
			part := *s.trail
			part.Events = s.trail.Events[:n]
			now, err := trail.Replay(s.space, &part)
			require.NoError(t, err)
			next = first(t, s.model, planner, now)
		}
		fmt.Fprintf(&b, " %s | %s |\n", percent(line.Sound), next)
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// What a test for the noise of a spindle might say: quiet, hums, rattles. The first row below
// keeps the ratio rule beside it, the second breaks it.
var (
	noise   = []float64{0.60, 0.30, 0.10}
	allowed = []float64{0.20, 0.40, 0.40}
	falling = []float64{0.50, 0.05, 0.45}
)

// ratios returns the added-up row over the added-up healthy one.
func ratiosOf(row, healthy []float64) []float64 {
	var all []float64
	sum, base := 0.0, 0.0
	for i := range row {
		sum += row[i]
		base += healthy[i]
		all = append(all, sum/base)
	}
	return all
}

// ratios is the check of the ratio rule, for a row that keeps it and one that does not.
func (s *small) ratios(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| | quiet | quiet or hums | all |\n| --- | ---: | ---: | ---: |\n")
	line := func(name, form string, all []float64) {
		fmt.Fprintf(&b, "| %s |", name)
		for _, x := range all {
			fmt.Fprintf(&b, " "+form+" |", x)
		}
		b.WriteString("\n")
	}
	one := []float64{1, 1, 1}
	added := func(row []float64) []float64 {
		all := ratiosOf(row, one)
		for i := range all {
			all[i] *= float64(i + 1)
		}
		return all
	}
	line("healthy 0.60 0.30 0.10, added up", "%.2f", added(noise))
	line("0.20 0.40 0.40, added up", "%.2f", added(allowed))
	line("the same over healthy: rises, allowed", "%.3f", ratiosOf(allowed, noise))
	line("0.50 0.05 0.45, added up", "%.2f", added(falling))
	line("the same over healthy: falls, forbidden", "%.3f", ratiosOf(falling, noise))
	return strings.TrimSuffix(b.String(), "\n")
}

func TestTheAuthorsRatioRuleIsTheLoaders(t *testing.T) {
	load := func(row []float64) error {
		text, err := json.Marshal(row)
		require.NoError(t, err)
		healthy, err := json.Marshal(noise)
		require.NoError(t, err)
		_, err = model.Load([]byte(`{"format": "pitwise/model", "version": 1, "id": "noise", "revision": "1", "most_faults": 1,
			"setups": [{"id": "shut"}], "components": [{"id": "bearing", "modes": [{"id": "dry", "prior": 0.1}]}],
			"tests": [{"id": "listen", "intake": true, "at": "shut", "minutes": 1, "money": 0,
				"outcomes": [{"id": "quiet"}, {"id": "hums"}, {"id": "rattles"}],
				"healthy": ` + string(healthy) + `, "given": {"bearing.dry": ` + string(text) + `}, "steadiness": 1}]}`))
		return err
	}
	assert.NoError(t, load(allowed))
	assert.ErrorContains(t, load(falling), "the ratio may not fall")
}

// together is what two faults at once show.
func (s *small) together(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| faults | plays | asks | still |\n| --- | ---: | ---: | ---: |\n")
	for _, modes := range [][]model.ModeID{nil, {"lens.dirty"}, {"adaptor.low"}, {"lens.dirty", "adaptor.low"}} {
		name := "none"
		if len(modes) > 0 {
			var ids []string
			for _, id := range modes {
				ids = append(ids, string(id))
			}
			name = strings.Join(ids, " and ")
		}
		fmt.Fprintf(&b, "| %s |", name)
		for _, p := range s.row(t, "start", modes...) {
			fmt.Fprintf(&b, " %.3f |", p)
		}
		b.WriteString("\n")
	}
	return strings.TrimSuffix(b.String(), "\n")
}

var steady = []float64{0.1, 0.5, 1, 2, 5, 100}

// again returns the odds that a second start of a unit with a dirty lens asks once more,
// for a steadiness.
func (s *small) again(t *testing.T, kappa float64) float64 {
	p := s.row(t, "start", "lens.dirty")[1]
	return (kappa*p + 1) / (kappa + 1)
}

func (s *small) steadiness(t *testing.T) string {
	var b strings.Builder
	b.WriteString("| steadiness | asks the first time | asks again, having asked once |\n| ---: | ---: | ---: |\n")
	for _, k := range steady {
		fmt.Fprintf(&b, "| %g | %s | %s |\n", k, percent(s.row(t, "start", "lens.dirty")[1]), percent(s.again(t, k)))
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// defects is what loading says of the model with a forbidden row and a slip of the pen.
func (s *small) defects(t *testing.T) string {
	spoiled := strings.NewReplacer(
		`"lens.dirty": [0.25, 0.65, 0.10]`, `"lens.dirty": [0.60, 0.02, 0.38]`,
		`"laser.weak": [0.15, 0.60, 0.25]`, `"laser.weak": [0.15, 0.60, 0.20]`,
		`"fixes": {"door.missed": 0.9}`, `"fixes": {"door.mised": 0.9}`,
	).Replace(string(s.text))
	_, err := model.Load([]byte(spoiled))
	var all model.Defects
	require.True(t, errors.As(err, &all))
	require.Len(t, all.List, 3)
	var b strings.Builder
	b.WriteString("```text\n")
	for _, d := range all.List {
		fmt.Fprintf(&b, "mine.json:%d:%d: %s: %s\n", d.Line, d.Column, d.Place, d.Found)
	}
	return b.String() + "```"
}

// What the page says of repeats is what the engine does: averaged over all hypotheses by
// their odds after the first start, (κP + 1)/(κ + 1) is what it predicts for the second.
func TestTheAuthorsSteadinessIsTheEngines(t *testing.T) {
	s := readSmall(t)
	start := s.model.Intake
	for _, k := range steady {
		text := bytes.Replace(s.text, []byte(`"steadiness": 2, `), fmt.Appendf(nil, `"steadiness": %g, `, k), 1)
		m, err := model.Load(text)
		require.NoError(t, err)
		require.Equal(t, k, m.Tests[start].Steadiness)
		space, err := belief.NewSpace(m)
		require.NoError(t, err)
		b := space.Prior()
		require.NoError(t, b.Observe(start, belief.Named(&m.Tests[start], 1)))
		above, below := 0.0, 0.0
		for h := range space.Len() {
			w := 1.0
			for _, c := range m.Components { // one mode each in this model
				prior := m.Modes[c.FirstMode].Prior
				in := false
				for _, f := range space.Modes(h) {
					in = in || int(f) == c.FirstMode
				}
				if in {
					w *= prior
				} else {
					w *= 1 - prior
				}
			}
			p := space.Outcomes(nil, start, h)[1]
			above += w * p * (k*p + 1) / (k + 1)
			below += w * p
		}
		assert.InDelta(t, above/below, b.Predict(nil, start)[1], 1e-12, "steadiness %g", k)
	}
}

func TestTheAuthorsModelIsSane(t *testing.T) {
	s := readSmall(t)
	assert.Empty(t, lint.Rows(s.space))
	terms := s.trail.Terms
	terms.MinuteValue, terms.WorkingValue = 0.25, 80 // those of pitwise check -deep
	found, err := lint.Advice(s.space, terms, lint.Effort{Units: 4, Steps: 12, Seed: 1}, nil)
	require.NoError(t, err)
	assert.Empty(t, found, "the page says that it comes out clean")
	for _, c := range s.model.Components {
		assert.NotEmpty(t, c.Place)
	}
	account, err := trail.Replay(s.space, s.trail)
	require.NoError(t, err)
	assert.Empty(t, account.Warnings)
	origin, err := trail.Origin(s.space, s.trail)
	require.NoError(t, err)
	assert.Greater(t, origin.Modes[0], 0.95, "the dirty lens was there when it came in")
	// By hand: P(asks) of a dirty lens over that of a sound unit is 0.65/0.04.
	assert.InDelta(t, 0.65/0.04, s.row(t, "start", "lens.dirty")[1]/s.row(t, "start")[1], 1e-12)
}

// The trail that the page tells how to write by hand loads with its model inside.
func TestTheAuthorsTrailCanCarryItsModel(t *testing.T) {
	s := readSmall(t)
	tr := *s.trail
	tr.Events, tr.ModelText = nil, string(s.text)
	again, err := trail.Load(tr.Encode())
	require.NoError(t, err)
	assert.Equal(t, string(s.text), again.ModelText)
	assert.True(t, json.Valid(tr.Encode()))
}

// A drawing is an SVG under way, 360 wide, in colours for light and dark.
type drawing struct {
	b      strings.Builder
	height int
}

func (d *drawing) text(x, y float64, class, s string) {
	fmt.Fprintf(&d.b, "<text x=\"%.4g\" y=\"%.4g\" class=%q>%s</text>\n", x, y, class, s)
}

// bar draws a row as a stacked bar, best outcome first.
func (d *drawing) bar(x, y, width, height float64, row []float64) {
	at := x
	for i, p := range row {
		w := p * width
		fmt.Fprintf(&d.b, "<rect x=\"%.5g\" y=\"%.4g\" width=\"%.5g\" height=\"%.4g\" class=\"o%d\"/>\n", at, y, w, height, i)
		if w >= 24 {
			d.text(at+w/2, y+height/2+4.5, fmt.Sprintf("in%d", i), fmt.Sprintf("%.2g", p))
		}
		at += w
	}
}

func (d *drawing) line(x1, y1, x2, y2 float64, class string) {
	fmt.Fprintf(&d.b, "<line x1=\"%.5g\" y1=\"%.5g\" x2=\"%.5g\" y2=\"%.5g\" class=%q/>\n", x1, y1, x2, y2, class)
}

// legend draws what the shades mean.
func (d *drawing) legend(y float64, names ...string) {
	x := 10.0
	for i, name := range names {
		fmt.Fprintf(&d.b, "<rect x=\"%.4g\" y=\"%.4g\" width=\"14\" height=\"14\" class=\"o%d\"/>\n", x, y, i)
		d.text(x+20, y+12, "t", name)
		x += 36 + 7.5*float64(len(name))
	}
}

func (d *drawing) svg(title, description string) string {
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 360 %d" role="img" aria-labelledby="title description">
<title id="title">%s</title>
<desc id="description">%s</desc>
<style>
.ground { fill: #fbfaf6 } text { font: 13px sans-serif; fill: #22272b } .b { font-weight: bold } .m, .in0, .in1, .in2 { text-anchor: middle }
.o0, .o1, .o2 { stroke: #22272b; stroke-width: 1 } .o0 { fill: #d7ece6 } .o1 { fill: #6fa8a0 } .o2 { fill: #1f4f52 } .in2 { fill: #ffffff }
.axis { stroke: #22272b; stroke-width: 1 } .rise { stroke: #2f6f73; stroke-width: 3 } .fall { stroke: #a8321f; stroke-width: 3; stroke-dasharray: 7 4 } .faint { stroke: #8b8f8c; stroke-width: 1; stroke-dasharray: 2 3 }
@media (prefers-color-scheme: dark) {
.ground { fill: #171b1d } text { fill: #ece9e1 } .o0, .o1, .o2 { stroke: #ece9e1 } .o0 { fill: #cfe8e1 } .o1 { fill: #3f7771 } .o2 { fill: #123436 } .in0 { fill: #171b1d } .in1, .in2 { fill: #ffffff }
.axis { stroke: #ece9e1 } .rise { stroke: #7cc4bc } .fall { stroke: #ff9a85 } .faint { stroke: #8b8f8c }
}
</style>
<rect width="360" height="%d" class="ground"/>
%s</svg>
`, d.height, title, description, d.height, d.b.String())
}

func TestTheAuthorsPicturesShowTheModel(t *testing.T) {
	s := readSmall(t)
	names := []string{"plays", "asks", "still"}
	f := func(row []float64) string {
		var all []string
		for i, p := range row {
			all = append(all, fmt.Sprintf("%s %.3g", names[i], p))
		}
		return strings.Join(all, ", ")
	}
	bars := func(title string, rows ...[]model.ModeID) string {
		d := drawing{height: 40 + 54*len(rows)}
		d.legend(10, names...)
		var told []string
		for i, modes := range rows {
			name := "healthy"
			if len(modes) > 0 {
				var ids []string
				for _, id := range modes {
					ids = append(ids, string(id))
				}
				name = strings.Join(ids, " + ")
			}
			row := s.row(t, "start", modes...)
			y := 36 + 54*float64(i)
			d.text(10, y+13, "b", name)
			d.bar(10, y+18, 340, 26, row)
			told = append(told, name+": "+f(row))
		}
		return d.svg(title, strings.Join(told, "; ")+".")
	}
	same(t, "authors/rows.svg", bars("Rows of the test start as bars", nil, []model.ModeID{"lens.dirty"}, []model.ModeID{"door.missed"}, []model.ModeID{"adaptor.low"}))
	same(t, "authors/together.svg", bars("Two faults at once", nil, []model.ModeID{"lens.dirty"}, []model.ModeID{"adaptor.low"}, []model.ModeID{"lens.dirty", "adaptor.low"}))

	d := drawing{height: 250}
	var told []string
	for i, c := range []struct {
		name string
		row  []float64
	}{{"allowed: 0.20 0.40 0.40", allowed}, {"forbidden: 0.50 0.05 0.45", falling}} {
		left := 10 + 180*float64(i)
		d.text(left, 22, "b", []string{"Allowed: rises", "Forbidden: falls"}[i])
		d.text(left, 40, "t", fmt.Sprintf("%.2f  %.2f  %.2f", c.row[0], c.row[1], c.row[2]))
		top, foot := 76.0, 206.0
		d.line(left, foot, left+156, foot, "axis")
		d.line(left, top, left+156, top, "faint")
		before := math.NaN()
		var ratios []string
		for k, r := range ratiosOf(c.row, noise) {
			x, y := left+52*float64(k), foot-(foot-top)*r
			class := "rise"
			if r < before-1e-9 {
				class = "fall"
			}
			d.line(x, y, x+52, y, class)
			if k > 0 {
				d.line(x, foot-(foot-top)*before, x, y, class)
			}
			d.text(x+26, y-7, "m", fmt.Sprintf("%.3f", r))
			d.text(x+26, foot+16, "m", []string{"quiet", "…hums", "…all"}[k])
			ratios = append(ratios, fmt.Sprintf("%.3f", r))
			before = r
		}
		told = append(told, c.name+", ratios "+strings.Join(ratios, ", "))
	}
	d.text(10, 242, "t", "added-up row ÷ added-up healthy; dotted line: 1")
	same(t, "authors/ratio.svg", d.svg("The ratio rule", strings.Join(told, "; ")+"."))

	d = drawing{height: 56 + 30*len(steady)}
	told = nil
	d.text(10, 22, "b", "Steadiness and the odds to ask again")
	p := s.row(t, "start", "lens.dirty")[1]
	for i, k := range steady {
		y := 34 + 30*float64(i)
		d.text(10, y+16, "t", fmt.Sprintf("κ = %g", k))
		again := s.again(t, k)
		d.bar(80, y, 200, 22, []float64{1 - again})
		fmt.Fprintf(&d.b, "<rect x=\"%.5g\" y=\"%.4g\" width=\"%.5g\" height=\"22\" class=\"o1\"/>\n", 80+200*(1-again), y, 200*again)
		d.text(290, y+16, "t", percent(again))
		told = append(told, fmt.Sprintf("κ %g: %s", k, percent(again)))
	}
	d.line(80+200*(1-p), 32, 80+200*(1-p), 34+30*float64(len(steady)), "fall")
	d.text(80, 34+30*float64(len(steady))+14, "t", "dashed: the first time, "+percent(p))
	same(t, "authors/steadiness.svg", d.svg("What a repeat tells", strings.Join(told, "; ")+"."))
}
