//go:build browser

package flows_test

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/words"
	"pitwise/cmd/dev/browser"
	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func TestFirstStartLeadsToTheSampleUnit(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	p.See("Find what is wrong")
	p.See("nothing is sent anywhere")
	p.Screenshot("bench-empty")
	p.Tap("Try the sample unit")
	settled(p)
	p.See("box 7 (sample)")
	p.Screenshot("unit-step")
	p.Tap("Back to the bench")
	p.See("On the bench")
	assert.NotContains(t, p.Text(), "Try the sample unit")
	p.Screenshot("bench-one")
}

// TestOneTriageEndToEnd is the main job: a unit comes in, is found out, mended, proved
// and signed off, and its trail is taken away.
func TestOneTriageEndToEnd(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	takeIn(p, "Shelf 3, cracked hinge")
	assert.Equal(t, 1, steps(p))

	toSignOff(t, p)
	p.Screenshot("sign-off-step")
	p.Tap("Sign it off …")
	p.See("What was it?")
	p.Screenshot("sign-off")
	p.Tap("Sign off")
	p.See("This unit has left the bench: Signed off.")
	p.Screenshot("unit-ended")

	p.Tap("Suspects")
	first := browser.Value[string](p, `document.querySelector(".suspect .suspect-name").firstChild.textContent`)
	odds := browser.Value[string](p, `document.querySelector(".suspect .number").innerText`)
	p.Tap("Other")
	p.Tap("Save or share the trail")
	p.Screenshot("export")

	t.Run("the exported trail loads, fits its model and replays to what the page shows", func(t *testing.T) {
		p.In(t)
		p.Tap("Save: Trail with its model (JSON)")
		p.See("Saved to a file.")
		name, body := p.Downloaded()
		assert.Contains(t, name, ".json")
		tr, err := trail.Load(body)
		require.NoError(t, err)
		m, err := model.Load([]byte(tr.ModelText))
		require.NoError(t, err)
		require.Equal(t, tr.Model.SHA256, m.SHA256)
		require.NoError(t, tr.Check(m))
		space, err := belief.NewSpace(m)
		require.NoError(t, err)
		account, err := trail.Replay(space, tr)
		require.NoError(t, err)
		final := account.Lines[len(account.Lines)-1]
		best := 0
		for i, q := range final.Modes {
			if q > final.Modes[best] {
				best = i
			}
		}
		assert.Equal(t, m.Modes[best].Title, first)
		assert.Equal(t, words.In("en").Percent(final.Modes[best]), odds)
		assert.Equal(t, trail.SignedOff, tr.Events[len(tr.Events)-1].As)

		var stored []struct {
			N    int    `json:"n"`
			Kind string `json:"kind"`
		}
		require.NoError(t, json.Unmarshal([]byte(browser.Value[string](p, storedEvents)), &stored))
		require.Equal(t, len(tr.Events), len(stored))
		for i, e := range tr.Events {
			assert.Equal(t, e.N, stored[i].N)
			assert.Equal(t, string(e.Kind), stored[i].Kind)
		}
	})
	t.Run("the report is Markdown", func(t *testing.T) {
		p.In(t)
		p.Tap("Save or share the trail")
		p.Tap("Save: Report (Markdown)")
		name, body := p.Downloaded()
		assert.Contains(t, name, ".md")
		assert.Contains(t, string(body), "# Shelf 3, cracked hinge")
		assert.Contains(t, string(body), "Signed off")
	})
}

// toSignOff does what is put first until that is to sign the unit off, on a unit whose one
// fault is a film on the lens: a test of the lens shows it, a disc gives up until the lens
// is clean, and everything else is well.
func toSignOff(t *testing.T, p *browser.Page) {
	t.Helper()
	cleaned := false
	const most = 40
	for turn := 0; ; turn++ {
		require.Less(t, turn, most, "no end is put first:\n%s", p.Text())
		title := browser.Value[string](p, `document.querySelector(".pane-step h2").innerText`)
		inWay := browser.Value[bool](p, `!!document.querySelector(".pane-step .way")`)
		require.NotEqual(t, "Write it off", title, "a unit with a dirty lens is to be written off")
		if title == "Sign it off" && !inWay {
			break
		}
		read(p)
		inWay = browser.Value[bool](p, `!!document.querySelector(".pane-step .way")`)
		outcomes := browser.Value[[]string](p, `[...document.querySelectorAll(".pane-step .outcomes .outcome-title")].map((e) => e.innerText)`)
		bad := 0
		if !cleaned {
			bad = slices.IndexFunc(outcomes, func(o string) bool {
				return o == "Spins, then gives up" || o == "Dust or grey film"
			})
		}
		switch {
		case !inWay && len(outcomes) > 0 && !browser.Value[bool](p, `!!document.querySelector("#entry")`):
			act(p, outcomes[max(bad, 0)])
		default:
			if !inWay && title == "Clean the lens" {
				cleaned = true
			}
			follow(t, p)
		}
	}
	require.True(t, cleaned, "the lens was never cleaned")
}

// follow does what is put first, whatever it is.
func follow(t *testing.T, p *browser.Page) {
	t.Helper()
	title := browser.Value[string](p, `document.querySelector(".pane-step h2").innerText`)
	read(p)
	switch {
	case browser.Value[bool](p, `!!document.querySelector(".pane-step .way")`):
		act(p, "Done")
	case browser.Value[bool](p, `!!document.querySelector("#entry")`):
		p.Type("What value do you get?", nominal(p))
		act(p, "Record this reading")
	case browser.Value[bool](p, `!!document.querySelector(".pane-step .button-outcome")`):
		act(p, browser.Value[string](p, `document.querySelector(".pane-step .button-outcome .outcome-title").innerText`))
	default:
		require.NotContains(t, []string{"Write it off", "Sign it off"}, title, "an end is put first with nothing mended")
		act(p, "Repair done")
	}
}

// read acknowledges the cautions one by one, if there are any to read, and sees to it that no
// step is shown before.
func read(p *browser.Page) {
	const unread = `.pane-step section.cautions h3`
	for browser.Value[bool](p, `!!document.querySelector("`+unread+`")`) {
		p.Until(`!document.querySelector(".pane-step .steps, .pane-step .button-outcome, #entry")`)
		first := browser.Value[string](p, `document.querySelector("`+unread+`").innerText`)
		p.Tap("I have read this")
		p.Until(`document.querySelector("` + unread + `")?.innerText !== ` + strconv.Quote(first))
	}
}

// act taps a button that records an event and waits until it is recorded.
func act(p *browser.Page, button string) {
	n := steps(p)
	read(p)
	p.Tap(button)
	recorded(p, n+1)
}

// choose takes a step from the list of all steps.
func choose(p *browser.Page, title, kind string) {
	p.Tap("Other")
	p.Type("Search the steps", title)
	p.Until(`document.querySelectorAll(".offer").length <= 4`)
	p.Tap(kind + " " + title)
	p.Until(`document.querySelector(".unit-step") !== null`)
	settled(p)
	read(p)
}

// nominal is the number that the meter is expected to show, from the help of the field.
func nominal(p *browser.Page) string {
	help := browser.Value[string](p, `document.getElementById("entry-help").innerText`)
	if i := strings.Index(help, "Nominal "); i >= 0 {
		return strings.FieldsFunc(help[i+len("Nominal "):], func(r rune) bool { return r == ' ' || r == '\u00a0' })[0]
	}
	fields := strings.FieldsFunc(help, func(r rune) bool { return r == ' ' || r == '\u00a0' })
	return fields[1]
}

func TestTakingBackAndBringingBack(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	takeIn(p, "Shelf 4")
	p.Tap("Suspects")
	before := browser.Value[string](p, `document.querySelector(".suspects").textContent`)
	choose(p, "Start a disc known to be good", "Test")
	act(p, "Starts the disc")
	p.Tap("Suspects")
	moved := browser.Value[string](p, `document.querySelector(".suspects").textContent`)
	assert.NotEqual(t, before, moved)

	p.Tap("Take back") // in the notice: one tap
	p.See("Step 1 is taken back.")
	p.Until(`document.querySelectorAll(".event").length === 3`)
	settled(p)
	assert.Equal(t, before, browser.Value[string](p, `document.querySelector(".suspects").textContent`), "a void is as if never recorded")

	p.Tap("Trail")
	p.Screenshot("trail-taken-back")
	p.Tap("Bring back: Start a disc known to be good")
	p.See("Step 1 is back.")
	settled(p)
	p.Tap("Suspects")
	assert.Equal(t, moved, browser.Value[string](p, `document.querySelector(".suspects").textContent`))
}

func TestAReadingIsSaidBeforeItIsStored(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	takeIn(p, "Shelf 5")
	choose(p, "Motor supply at rest", "Test")
	p.Screenshot("way")
	act(p, "Done")

	p.Type("What value do you get?", "8,01")
	p.See("8.01 V says: 7.60 to 8.40 V.")
	p.Type("What value do you get?", "7.6")
	p.See("within the meter’s error also")
	p.Screenshot("reading")
	p.Type("What value do you get?", "seven")
	p.See("This is not a number.")
	assert.True(t, browser.Value[bool](p, `[...document.querySelectorAll("button")].find((b) => b.innerText === "Record this reading").disabled`))
	p.Type("What value do you get?", "1,234")
	p.See("This could be read two ways.")
	assert.Equal(t, 2, steps(p), "nothing is stored by typing")
	p.Type("What value do you get?", "7,58")
	p.Tap("Record this reading")
	recorded(p, 3)
	var stored []struct {
		Reading float64 `json:"reading"`
	}
	require.NoError(t, json.Unmarshal([]byte(browser.Value[string](p, storedEvents)), &stored))
	assert.Equal(t, 7.58, stored[2].Reading, "a comma is stored as a number")
}

func TestTheTimerRunsOnAfterAReload(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	takeIn(p, "Shelf 11")
	read(p)
	p.Tap("More")
	p.Tap("Timer")
	p.Tap("5 min")
	p.Until(`/^4:5\d left$/.test(document.querySelector(".timer-left")?.innerText)`)
	p.Screenshot("timer")
	p.Reload()
	settled(p)
	p.Until(`/^4:[0-5]\d left$/.test(document.querySelector(".timer-left")?.innerText)`)
	p.Tap("Stop")
	p.Until(`document.querySelector(".timer-left") === null`)
	p.Reload()
	settled(p)
	p.Until(`document.querySelector(".timer-left") === null`)
}
