//go:build browser

package flows_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// mouth stands in for the browser's voices: one that needs a network and one of the device's own, for English. It
// keeps what it is given and goes on reading until it is told to end.
const mouth = `{
	const own = {lang: "en-GB", localService: true, default: false}, far = {lang: "en-US", localService: false, default: true};
	const said = [];
	let now = [];
	window.pitwiseSaid = said;
	window.pitwiseRead = () => { const last = now.at(-1); now = []; last.onend(); };
	window.SpeechSynthesisUtterance = function (text) { this.text = text; };
	Object.defineProperty(window, "speechSynthesis", {value: {
		getVoices: () => [far, own],
		addEventListener() {},
		speak(u) { said.push(u.text); now.push(u); window.pitwiseVoice = u.voice === own && u.lang === "en-GB"; },
		cancel() { const ended = now; now = []; said.push("hush"); ended.forEach((u) => u.onerror()); },
	}});
}`

// TestAStepIsReadAloud reads a caution and then a step with the device's own voice, and ends when the person goes on.
func TestAStepIsReadAloud(t *testing.T) {
	t.Parallel()
	p := browser.Start(t).Open(browser.Serve(t))
	p.Before(mouth)
	p.Go("/")
	takeIn(p, "Shelf 7")
	p.Tap("Other")
	p.Type("Search the steps", "Motor supply while")
	p.Tap("Test Motor supply while it spins up")
	p.See("Read first")
	title := browser.Value[string](p, `document.querySelector(".caution h3").innerText`)
	p.Tap("Read this step aloud")
	said := browser.Value[[]string](p, "pitwiseSaid.splice(0)")
	require.Greater(t, len(said), 2, "%v", said)
	assert.Equal(t, []string{"hush", title}, said[:2])
	assert.True(t, browser.Value[bool](p, "pitwiseVoice"), "not with the device's own voice")
	p.Tap("Stop reading aloud")
	p.Tap("Read this step aloud")
	p.Eval("pitwiseRead()")
	p.Tap("Read this step aloud")
	p.Eval("void pitwiseSaid.splice(0)")
	read(p)
	assert.Equal(t, []string{"hush"}, browser.Value[[]string](p, "pitwiseSaid.splice(0)"), "who has read on does not listen any more")
	p.Tap("Read this step aloud")
	said = browser.Value[[]string](p, "pitwiseSaid.splice(0)")
	assert.Contains(t, said, browser.Value[string](p, `document.querySelector(".proposal-title").innerText`))
	assert.Equal(t, title, said[1], "cautions come first")
}

// TestWithoutAVoiceThePageSaysSo sees what this machine's Chromium has.
func TestWithoutAVoiceThePageSaysSo(t *testing.T) {
	t.Parallel()
	p := browser.Start(t).Open(browser.Serve(t))
	p.Go("/")
	takeIn(p, "Shelf 7")
	read(p)
	local := browser.Value[int](p, `new Promise((done) => setTimeout(() => done(window.speechSynthesis ? speechSynthesis.getVoices().filter((v) => v.localService && /^en\b/i.test(v.lang)).length : 0), 500))`)
	t.Logf("Chromium here has %d voices of its own for English", local)
	p.Tap("More")
	const says = "This device has no voice of its own"
	if local == 0 {
		p.See(says)
		assert.False(t, browser.Value[bool](p, `!!document.querySelector("[aria-label='Read this step aloud']")`))
		return
	}
	assert.NotContains(t, p.Text(), says)
	p.Tap("Read this step aloud")
	p.Tap("Stop reading aloud")
}
