//go:build browser

package flows_test

import (
	"fmt"
	"os"
	"path/filepath"
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

const ownModel = "../../../engine/catalog/authors/shelf-player.json"

const ownTitle = "Small player with a door and an outside adaptor"

// modelFile writes the small own model of the authors' page, changed in places that
// stand in it once.
func modelFile(t *testing.T, name string, pairs ...string) string {
	t.Helper()
	text, err := os.ReadFile(ownModel)
	require.NoError(t, err)
	s := string(text)
	for i := 0; i < len(pairs); i += 2 {
		require.Equal(t, 1, strings.Count(s, pairs[i]), pairs[i])
		s = strings.Replace(s, pairs[i], pairs[i+1], 1)
	}
	file := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(file, []byte(s), 0o600))
	return file
}

func suspects(p *browser.Page) string {
	return browser.Value[string](p, `document.querySelector(".suspects").textContent`)
}

// ended waits until a unit that has left the bench, with n events, is worked out.
func ended(p *browser.Page, n int) {
	p.Until(fmt.Sprintf(`document.querySelectorAll(".event").length === %d && document.querySelectorAll(".suspect").length > 0`, n))
}

// TestAModelOfOnesOwnServesAUnitToTheEnd brings a model in from its file alone, works
// a unit through with it, and takes the unit to another device.
func TestAModelOfOnesOwnServesAUnitToTheEnd(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	p.Upload("Read in a file", modelFile(t, "shelf-player.json"))
	p.See("The model is on the list now, and picked.")
	p.See("Yours, revision 1")
	p.Until(`document.querySelector(".own-family input:checked") !== null`)
	p.See("Turns, then asks for a disc")
	p.Accessible()
	p.Screenshot("own-model")

	p.Type("What you call it", "Green player, shelf 2")
	p.Tap("Turns, then asks for a disc")
	p.Tap("Multimeter")
	p.Tap("Start")
	settled(p)
	p.Accessible()

	// Its lens is dirty and nothing else: a disc is asked for until it is clean.
	cleaned := false
	for turn := 0; ; turn++ {
		require.Less(t, turn, 40, "no end is put first:\n%s", p.Text())
		title := browser.Value[string](p, `document.querySelector(".pane-step h2").innerText`)
		inWay := browser.Value[bool](p, `!!document.querySelector(".pane-step .way")`)
		require.NotEqual(t, "Write it off", title, "a unit with a dirty lens is to be written off")
		if title == "Sign it off" && !inWay {
			break
		}
		read(p)
		inWay = browser.Value[bool](p, `!!document.querySelector(".pane-step .way")`)
		switch {
		case !inWay && !cleaned && title == "Start with a good disc":
			act(p, "Turns, then asks for a disc")
		case !inWay && !cleaned && title == "Look at the lens":
			act(p, "Film, dust or a print")
		default:
			cleaned = cleaned || !inWay && title == "Clean the lens"
			follow(t, p)
		}
	}
	require.True(t, cleaned)
	p.Tap("Sign it off …")
	p.Tap("Sign off")
	p.See("This unit has left the bench: Signed off.")
	n, path := steps(p), pathOf(p)
	p.Tap("Suspects")
	shown := suspects(p)
	p.Tap("Other")
	p.Tap("Save or share the trail")
	p.Tap("Save: Trail with its model (JSON)")
	p.See("Saved to a file.")
	name, body := p.Downloaded()

	t.Run("the export replays to the numbers on the screen", func(t *testing.T) {
		p.In(t)
		tr, err := trail.Load(body)
		require.NoError(t, err)
		text, err := os.ReadFile(ownModel)
		require.NoError(t, err)
		require.Equal(t, string(text), tr.ModelText, "the very text")
		m, err := model.Load(text)
		require.NoError(t, err)
		require.NoError(t, tr.Check(m))
		space, err := belief.NewSpace(m)
		require.NoError(t, err)
		account, err := trail.Replay(space, tr)
		require.NoError(t, err)
		final := account.Lines[len(account.Lines)-1]
		require.Len(t, final.Modes, 4)
		for i, q := range final.Modes {
			assert.Contains(t, shown, m.Modes[i].Title)
			assert.Contains(t, shown, words.In("en").Percent(q))
		}
	})

	file := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(file, body, 0o600))
	t.Run("another device takes the unit in with its model", func(t *testing.T) {
		fresh := browser.Start(t).Open(s)
		fresh.Go("/")
		fresh.Upload("Read in a file", file)
		fresh.See("Green player, shelf 2")
		ended(fresh, n)
		fresh.Tap("Suspects")
		assert.Equal(t, shown, suspects(fresh))
	})

	p.Stored()
	s.Stop()
	t.Run("with no network, a reload and a deep link show it as it was", func(t *testing.T) {
		p.In(t)
		p.Go(path + "/odds")
		ended(p, n)
		assert.Equal(t, shown, suspects(p))
		p.Reload()
		ended(p, n)
		assert.Equal(t, shown, suspects(p))
	})
	t.Run("off the list it is no longer offered, and the unit keeps it", func(t *testing.T) {
		p.In(t)
		p.Tap("Back to the bench")
		p.Tap("Take a unit in")
		p.See("Yours, revision 1")
		p.Tap("Take “" + ownTitle + "” off the list")
		p.See("Units that were begun with it keep it.")
		p.Accessible()
		p.Screenshot("own-model-off")
		p.Tap("Take it off the list")
		p.Until(`document.querySelector(".own-family") === null`)
		p.Until(`document.querySelector(".family input:checked") !== null`)
		p.Go(path + "/odds")
		ended(p, n)
		p.Reload()
		ended(p, n)
		assert.Equal(t, shown, suspects(p))
	})
	s.Start()
}

func TestTwoRevisionsOfAModelStandBesideEachOther(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/new")
	p.Tap("None of these?")
	for _, r := range []string{"9", "10"} {
		p.Upload("Bring in a model file", modelFile(t, "r.json", `"revision": "1"`, `"revision": "`+r+`"`))
		p.See("Yours, revision " + r)
	}
	order := `[...document.querySelectorAll(".own-family .choice-more")].map((e) => e.innerText.split(",")[1]).join()`
	assert.Equal(t, " revision 10, revision 9", browser.Value[string](p, order))
	p.Reload()
	p.See("Yours, revision 9")
	p.Tap("None of these?")
	assert.Equal(t, " revision 10, revision 9", browser.Value[string](p, order))
	p.Upload("Bring in a model file", modelFile(t, "r.json", `"revision": "1"`, `"revision": "10"`, "Small player", "Little player"))
	p.See("checksum")
	p.Accessible()
	p.EachLook("own-models", []int{320, 390}, browser.Looks, p.Fits)
	p.Screenshot("own-models")
}

// TestEveryDefectOfARefusedModelIsShown reads in a model with several defects, some with
// a stranger's markup in them.
func TestEveryDefectOfARefusedModelIsShown(t *testing.T) {
	t.Parallel()
	markup := `<img src=x onerror=document.title=1>`
	file := modelFile(t, "mine <b>1.json",
		`"lens.dirty": [0.25, 0.65, 0.10]`, `"lens.dirty": [0.25, 0.65, 0.05]`,
		`"door.missed": [0.05, 0.03, 0.92]`, `"door.`+markup+`": [0.05, 0.03, 0.92]`,
		`"most_faults": 2`, `"most_faults": 7`,
		`"at": "shut", "minutes": 3, "money": 0, "needs": ["multimeter"]`, `"at": "shut", "minutes": 3, "money": 0, "needs": ["`+strings.Repeat("hammer-", 30)+`x"]`,
	)
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	_, err = model.Load(text)
	var want model.Defects
	require.ErrorAs(t, err, &want)
	require.Len(t, want.List, 4)

	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	p.Upload("Read in a file", file)
	p.See("This file was not read in.")
	p.See("4 defects")
	p.See("mine <b>1.json")
	for _, d := range want.List {
		p.See(d.Place)
		p.See(d.Found)
	}
	p.See("Line 4, column 3")
	assert.Equal(t, 0, browser.Value[int](p, `document.querySelectorAll("main img, main b").length`), "markup of the file became elements")
	p.EachLook("refused-model", []int{320, 390, 1280}, browser.Looks, func() {
		p.Accessible()
		p.Fits()
	})
	p.Eval(`Object.defineProperty(navigator, "clipboard", {value: {writeText: (text) => { window.copied = text; return Promise.resolve(); }}})`)
	p.Tap("Copy the list")
	p.See("Copied.")
	copied := browser.Value[string](p, "window.copied")
	require.Len(t, strings.Split(strings.TrimSpace(copied), "\n"), 4)
	for _, d := range want.List {
		assert.Contains(t, copied, d.String())
	}
	p.Tap("Close the list")
	p.See("Find what is wrong")
	p.Tap("Take a unit in")
	p.See("What it does now")
	assert.NotContains(t, p.Text(), "Yours, revision")
	p.Tap("None of these?")
	p.Upload("Bring in a model file", file)
	p.See("4 defects")
	p.Tap("Back to the bench")
	p.See("Find what is wrong")
	assert.NotContains(t, p.Text(), "4 defects")
}
