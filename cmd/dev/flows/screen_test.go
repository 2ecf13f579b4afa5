//go:build browser

package flows_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/app/words"
	"pitwise/cmd/dev/browser"
	"pitwise/engine/catalog"
)

// phones are the screens that a step has to fit, in CSS pixels, the smallest first.
var phones = [][2]int{{320, 640}, {390, 844}}

// overflows puts every step on the screen in turn, and returns by how many pixels the page is then
// longer than the screen.
const overflows = `(async () => {
	const drawn = () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
	const found = [];
	let last = null;
	for (let i = 0; i < pitwiseSteps; i++) {
		pitwisePut(i);
		for (let n = 0; n < 60; n++) {
			await drawn();
			const now = document.querySelector(".pane-step .proposal")?.innerText;
			if (now && now !== last) { last = now; break; }
		}
		const over = document.scrollingElement.scrollHeight - innerHeight;
		const title = document.querySelector(".pane-step h2").innerText, targets = document.querySelectorAll(".pane-step .deck button").length;
		found.push({Title: title, Over: over, Targets: targets});
	}
	return found;
})()`

// TestAStepFitsOneScreen puts every step of the shipped models on a small phone, under a notice that one
// result sits badly with the rest: what to do, its most severe caution in a line, and every outcome or
// the meter's field show without a scroll. In German, whose words are the longest, with PITWISE_WALK=all on two
// phones in all languages.
func TestAStepFitsOneScreen(t *testing.T) {
	t.Parallel()
	s := serveStories(t)
	p := browser.Start(t).Open(s)
	langs, sizes := []string{"de"}, phones[:1]
	if os.Getenv("PITWISE_WALK") == "all" {
		langs, sizes = append(langs, "en", "es", "ja"), phones
	}
	for _, lang := range langs {
		for _, m := range catalog.Models() {
			p.Go("/?steps=" + m.ID + "&lang=" + lang)
			p.See(words.In(lang).Say(words.DoubtTitle))
			for _, size := range sizes {
				p.Size(size[0], size[1])
				steps := browser.Value[[]struct {
					Title         string
					Over, Targets int
				}](p, overflows)
				require.Greater(t, len(steps), 100)
				fit := 0
				for _, step := range steps {
					require.Positive(t, step.Targets, step.Title)
					if step.Over <= 0 {
						fit++
					} else {
						t.Errorf("%s in %s at %d × %d: %q (%d targets) is %d px too long", m.ID, lang, size[0], size[1], step.Title, step.Targets, step.Over)
					}
				}
				t.Logf("%s in %s at %d × %d: %d of %d steps fit", m.ID, lang, size[0], size[1], fit, len(steps))
			}
		}
	}
}
