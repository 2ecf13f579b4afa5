//go:build browser

package flows_test

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
)

// wordsAMinute is how fast adults read English texts that are no stories, silently. Brysbaert (2019), "How many words do we
// read per minute? A review and meta-analysis of reading rate", Journal of Memory and Language 109; from memory.
const wordsAMinute = 238

// A played is a walk that can be made again: a unit, what its owner says, what is wrong with it, and what tests show where that is not what is most
// probable under the fault.
type played struct {
	name, family string
	told         [][2]string
	fault        model.ModeID
	shows        map[model.TestID]string
	words        int // at most: half of what a unit took before the screens were made for one hand, 1,050 to 2,700; the sample has two cautions more since
}

var walks = []played{
	{"the sample", "top-loader", nil, "lens.dirty", nil, 600},
	{"a tray with a slack belt", "tray", [][2]string{{"complaint", "refuses"}, {"onset", "slowly"}}, "belt.slack",
		map[model.TestID]string{"tray-watch": "stops", "tray-help": "helped"}, 900},
	{"a slot-in with slick rollers", "slot-in", [][2]string{{"complaint", "refuses"}, {"onset", "slowly"}}, "rollers.glazed",
		map[model.TestID]string{"feed-watch": "slips", "feed-push": "helped"}, 1350},
}

// A walker plays a unit on the page and counts what that takes.
type walker struct {
	t     *testing.T
	p     *browser.Page
	space *belief.Space
	walk  played
	whole bool // the fault is gone

	screens, words, most, taps, scrolls int
	waits                               []float64 // from a tap until the next proposal stands, ms
	lines                               []string
}

// shown is what a screen of a unit asks for.
type shown struct {
	Title string
	Words int
	Acts  []string
}

const screen = `(() => {
	const e = document.querySelector(".sheet") || document.querySelector(".pane-step");
	const words = (text) => text.split(/\s+/).filter((w) => /[\p{L}\p{N}]/u.test(w)).length;
	return {Title: e.querySelector("h2").innerText, Words: words(e.innerText) - [...e.querySelectorAll(".unseen")].reduce((n, u) => n + words(u.innerText), 0),
		Acts: [...document.querySelectorAll(".pane-step .deck [data-guarded], .sheet ~ * [data-guarded], .dock [data-guarded]")].map((e) => e.dataset.guarded)};
})()`

// read waits for the next screen, counts its words and keeps a picture of it.
func (w *walker) read() shown {
	w.p.Until(`document.querySelector(".sheet, .pane-step .deck, .pane-step .note-box") && !document.querySelector(".pane-step .thinking") && !document.querySelector("[data-fresh]")`)
	s := browser.Value[shown](w.p, screen)
	assert.NotContains(w.t, w.p.Text(), "Your choice", "what is proposed is followed")
	w.screens++
	w.words += s.Words
	w.most = max(w.most, s.Words)
	w.p.Screenshot(fmt.Sprintf("walk-%s-%02d", w.walk.family, w.screens))
	return s
}

// tap touches what a message is marked on the page with; one that is out of sight is scrolled to.
func (w *walker) tap(mark string) {
	w.t.Helper()
	w.touch(`[...document.querySelectorAll("[data-guarded]")].find((e) => e.dataset.guarded.startsWith(` + strconv.Quote(mark) + `))`)
}

func (w *walker) touch(element string) {
	w.t.Helper()
	w.p.Until(`(() => { const e = ` + element + `; return e && !e.disabled && !e.closest("[data-fresh]"); })()`)
	spot := browser.Value[struct {
		X, Y  float64
		Moved bool
	}](w.p, `(() => {
		const e = `+element+`;
		const middle = () => { const r = e.getBoundingClientRect(); return {X: r.left + r.width / 2, Y: r.top + r.height / 2}; };
		const seen = () => { const m = middle(), top = document.elementFromPoint(m.X, m.Y); return top && e.contains(top); };
		const before = seen();
		if (!before) e.scrollIntoView({block: "center", behavior: "instant"});
		return {...middle(), Moved: !before};
	})()`)
	w.taps++
	if spot.Moved {
		w.scrolls++
	}
	w.p.Touch(spot.X, spot.Y)
}

var saw = regexp.MustCompile(`^state\.SawOutcome\{Test:(\S+) Outcome:(\S+)\}$`)

// look says which outcome a test has now.
func (w *walker) look(test model.TestID) model.Outcome {
	m := w.space.Model()
	t, ok := m.Test(test)
	require.True(w.t, ok)
	var faults []uint16
	if !w.whole {
		mode, _ := m.Mode(w.walk.fault)
		faults = append(faults, uint16(mode.Index))
		if id := w.walk.shows[test]; id != "" {
			k, ok := t.Outcome(model.OutcomeID(id))
			require.True(w.t, ok)
			return t.Outcomes[k]
		}
	}
	p := w.space.OutcomesOf(nil, t.Index, faults)
	best := 0
	for k := range p {
		if p[k] > p[best] {
			best = k
		}
	}
	return t.Outcomes[best]
}

// within is a reading well inside of an outcome.
func within(o model.Outcome) float64 {
	switch {
	case math.IsInf(o.From, 0):
		return o.To * 0.7
	case math.IsInf(o.To, 0):
		return o.From * 1.3
	}
	return (o.From + o.To) / 2
}

// step does what the screen asks for, and reports whether that was the end.
func (w *walker) step() (ended bool) {
	s := w.read()
	all := strings.Join(s.Acts, "\n")
	act := func(prefix string) string {
		for _, a := range s.Acts {
			if strings.HasPrefix(a, prefix) {
				return a
			}
		}
		return ""
	}
	did := ""
	steps := w.counted()
	switch {
	case strings.Contains(all, "state.Acknowledge{"):
		w.lines = append(w.lines, fmt.Sprintf("%3d words  caution on %q", s.Words, s.Title))
		w.tap("state.Acknowledge{")
		w.p.Until(`document.querySelector(".pane-step .deck [data-guarded]")?.dataset.guarded !== ` + strconv.Quote(act("state.Acknowledge{")))
		return false
	case act("state.Move{") != "":
		did = act("state.Move{")
	case act("state.Repaired{") != "":
		did = act("state.Repaired{")
		id := model.RepairID(strings.TrimSuffix(strings.TrimPrefix(did, "state.Repaired{ID:"), "}"))
		r, _ := w.space.Model().Repair(id)
		for _, c := range r.Change.Fixes {
			if w.space.Model().Modes[c.Mode].ID == w.walk.fault && c.P >= 0.5 {
				w.whole = true
			}
		}
	case act("state.SawOutcome{") != "":
		id := model.TestID(saw.FindStringSubmatch(act("state.SawOutcome{"))[1])
		o := w.look(id)
		if act("state.SendEntry{") != "" {
			w.touch(`document.getElementById("entry")`)
			w.p.Type("What value do you get?", strconv.FormatFloat(within(o), 'f', 3, 64))
			did = "state.SendEntry{"
		} else {
			did = fmt.Sprintf("state.SawOutcome{Test:%s Outcome:%s}", id, o.ID)
		}
	case act("state.OpenSheet{Sheet:sign-off") != "":
		w.lines = append(w.lines, fmt.Sprintf("%3d words  %s", s.Words, s.Title))
		w.tap("state.OpenSheet{Sheet:sign-off")
		return w.end()
	case act("state.OpenSheet{Sheet:write-off") != "":
		w.lines = append(w.lines, fmt.Sprintf("%3d words  %s", s.Words, s.Title))
		w.tap("state.OpenSheet{Sheet:write-off")
		return w.end()
	default:
		require.Fail(w.t, "nothing to do", "%q: %v", s.Title, s.Acts)
	}
	w.lines = append(w.lines, fmt.Sprintf("%3d words  %q: %s", s.Words, s.Title, did))
	w.tap(did)
	w.p.Until(`document.querySelectorAll(".event").length > ` + strconv.Itoa(steps))
	settled(w.p)
	w.waits = append(w.waits, w.waited())
	w.pause()
	return false
}

// clock has the page itself note when a tap comes, and when after it a proposal stands that will not change any more.
const clock = `(() => {
	let before = false;
	new MutationObserver(() => {
		const now = ` + resting + `;
		if (now && !before) window.stood = performance.now();
		before = now;
	}).observe(document.body, {childList: true, subtree: true, attributes: true});
	document.addEventListener("click", () => { window.tapped = performance.now(); before = false; }, true);
})()`

// waited is the time from the last tap until the proposal stood, ms.
func (w *walker) waited() float64 {
	return browser.Value[float64](w.p, "window.stood - window.tapped")
}

// pause is the time that the person takes.
func (w *walker) pause() {
	time.Sleep(time.Duration(browser.Asked(w.t, "PITWISE_PAUSE", 0)) * time.Second)
}

func (w *walker) counted() int { return steps(w.p) }

func (w *walker) end() bool {
	w.p.Until(`document.querySelector(".sheet") !== null`)
	s := w.read()
	w.lines = append(w.lines, fmt.Sprintf("%3d words  %q", s.Words, s.Title))
	w.tap("state.ConfirmSheet{")
	w.p.See("This unit has left the bench")
	return true
}

// begin takes the unit in, and returns how many taps that took.
func (w *walker) begin(first bool) int {
	if w.walk.told == nil {
		w.p.Go("/")
		w.p.Tap("Try the sample unit")
		return 1
	}
	if first {
		w.p.Go("/")
		w.touch(`document.querySelector("a[href$='/new'].button-main")`)
	} else {
		w.touch(`document.querySelector(".pane-step .note-box a[href$='/new']")`)
	}
	w.p.See("What it does now")
	w.touch(`document.getElementById("unit-label")`)
	w.p.Type("What you call it", "Shelf 7")
	if !browser.Value[bool](w.p, `document.getElementById("family-`+w.walk.family+`").checked`) {
		w.touch(`document.querySelector("label[for='family-` + w.walk.family + `']")`)
		w.p.Until(`document.getElementById("family-` + w.walk.family + `").checked`)
	}
	for _, s := range w.walk.told {
		w.tap(fmt.Sprintf("state.Answer{Test:%s Outcome:%s}", s[0], s[1]))
	}
	for _, t := range w.space.Model().BenchTools() {
		if !browser.Value[bool](w.p, `document.getElementById("tool-`+string(t.ID)+`").checked`) {
			w.touch(`document.querySelector("label[for='tool-` + string(t.ID) + `']")`)
		}
	}
	w.pause()
	w.tap("state.StartUnit{")
	w.p.Until(`document.querySelector(".pane-step") !== null`)
	settled(w.p)
	w.t.Logf("%s: from Start until the first proposal stands %.0f ms", w.walk.name, w.waited())
	taps := w.taps
	w.taps, w.scrolls = 0, 0
	return taps
}

// TestWalks plays three units from their first step to their end, as the page proposes and with everything that may be opened
// closed, and says what that takes of a person. PITWISE_WALK=all prints every screen; with PITWISE_PAUSE=10 the person is that long at each
// step, seconds, and with PITWISE_SLOW=4 the phone is four times slower.
func TestWalks(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Slow(float64(browser.Asked(t, "PITWISE_SLOW", 1)))
	p.Before(`document.addEventListener("DOMContentLoaded", () => ` + clock + `)`)
	before := false
	for _, walk := range walks {
		m, err := catalog.Load(walk.family)
		require.NoError(t, err)
		space, err := belief.NewSpace(m)
		require.NoError(t, err)
		w := &walker{t: t, p: p, space: space, walk: walk}
		intake := w.begin(!before)
		before = walk.told != nil
		for n := 0; !w.step(); n++ {
			require.Less(t, n, 60, "no end")
		}
		slices.Sort(w.waits)
		t.Logf("%s: from a tap until the next proposal stands %.0f ms in the median, %.0f ms at worst", walk.name, w.waits[len(w.waits)/2], w.waits[len(w.waits)-1])
		seconds := 60 * w.words / wordsAMinute
		t.Logf("%s: %d screens, %d words (%d at most on one), %d s of reading, %d taps, %d scrolls; %d taps of intake", walk.name, w.screens, w.words, w.most, seconds, w.taps, w.scrolls, intake)
		if os.Getenv("PITWISE_WALK") == "all" {
			t.Log("\n" + strings.Join(w.lines, "\n"))
		}
		assert.True(t, w.whole, "%s ended with its fault in", walk.name)
		assert.Zero(t, w.scrolls)
		assert.LessOrEqual(t, w.words, walk.words, walk.name)
		if walk.family == "slot-in" { // the second intake: tools and terms are known, another drive is picked
			assert.LessOrEqual(t, intake, 6)
		}
	}
}
