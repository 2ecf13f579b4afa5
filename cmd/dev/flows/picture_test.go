//go:build browser

package flows_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/cmd/dev/browser"
)

// TestThePictureIsForTheFingerAndTheEye measures the pictures as a phone of 320
// points shows them: how large the names are and that they keep apart in a real
// font, how large the areas are that take a finger, and that nothing lies over them.
func TestThePictureIsForTheFingerAndTheEye(t *testing.T) {
	t.Parallel()
	p := browser.Start(t).Open(serveStories(t))
	for _, story := range []string{"odds-tray", "odds-slot-in", "odds-own-places", "odds"} {
		t.Run(story, func(t *testing.T) {
			p.In(t)
			p.Size(320, 844)
			p.Go("/?story=" + story)
			p.Until(`document.querySelector(".drive > svg [data-place]") !== null`)
			seen := browser.Value[struct {
				Places, Letters, Wide, High float64
				Covered, Meet, Out          []string
			}](p, `(() => {
				const svg = document.querySelector(".drive > svg"), whole = svg.getBoundingClientRect();
				const areas = [...svg.querySelectorAll('[data-draw~="touch"]')];
				const names = [...svg.querySelectorAll('[data-draw="name"]')].map((n) => ({text: n.textContent, r: n.getBoundingClientRect()}));
				const covered = [], meet = [], out = [];
				for (const a of areas) {
					a.scrollIntoView({block: "center"});
					const r = a.getBoundingClientRect(), place = a.parentNode.dataset.place;
					for (const [x, y] of [[0.5, 0.5], [0.1, 0.1], [0.9, 0.1], [0.1, 0.9], [0.9, 0.9]]) {
						const there = document.elementFromPoint(r.left + x * r.width, r.top + y * r.height);
						if (!there || !there.closest("[data-place]") || there.closest("[data-place]").dataset.place !== place) covered.push(place);
					}
				}
				for (const [i, a] of names.entries()) {
					if (a.r.left < whole.left || a.r.right > whole.right) out.push(a.text);
					for (const b of names.slice(0, i)) {
						// The box of a text is higher than its letters.
						if (a.r.left < b.r.right && b.r.left < a.r.right && a.r.top + 3 < b.r.bottom && b.r.top + 3 < a.r.bottom) meet.push(a.text + " and " + b.text);
					}
				}
				const scale = whole.width / svg.viewBox.baseVal.width;
				return {
					places: areas.length,
					letters: Math.min(...[...svg.querySelectorAll("text")].map((n) => parseFloat(getComputedStyle(n).fontSize) * scale)),
					wide: Math.min(...areas.map((a) => a.getBoundingClientRect().width)),
					high: Math.min(...areas.map((a) => a.getBoundingClientRect().height)),
					covered, meet, out,
				};
			})()`)
			assert.GreaterOrEqual(t, seen.Places, 12.0)
			assert.GreaterOrEqual(t, seen.Letters, 12.0, "the size of the smallest letters")
			assert.GreaterOrEqual(t, seen.Wide, 44.0, "the narrowest area")
			assert.GreaterOrEqual(t, seen.High, 44.0, "the lowest area")
			assert.Empty(t, seen.Covered, "places whose area something else takes")
			assert.Empty(t, seen.Meet, "names that meet")
			assert.Empty(t, seen.Out, "names that leave the picture")
			t.Logf("%v places, letters of %v, areas of at least %v by %v", seen.Places, seen.Letters, seen.Wide, seen.High)
			for _, theme := range []string{"light", "dark", "contrast"} {
				p.Eval(`void (document.documentElement.dataset.theme = "` + theme + `")`)
				for _, width := range []int{320, 390, 1280} {
					p.Size(width, 900)
					p.Eval(`document.querySelector(".drive").scrollIntoView()`)
					p.Screenshot("picture-" + story + "-" + theme + "-" + map[int]string{320: "320", 390: "390", 1280: "1280"}[width])
					p.Fits()
				}
			}
		})
	}
}

// TestAPlaceOfThePictureOpensWhatSpeaksForIt touches the drawing itself, where it is
// larger than its area, and the area.
func TestAPlaceOfThePictureOpensWhatSpeaksForIt(t *testing.T) {
	t.Parallel()
	p := browser.Start(t).Open(browser.Serve(t))
	p.Go("/")
	p.Tap("Try the sample unit")
	p.Until(`document.querySelector(".pane-step h2") !== null`)
	p.Go(browser.Value[string](p, "location.pathname") + "/odds")
	p.Until(`document.querySelector(".drive > svg [data-place]") !== null`)
	for _, touch := range []struct{ place, draws string }{{"disc", "touch"}, {"flex", "body"}, {"lens", "touch"}} {
		p.Until(`!document.querySelector("[data-fresh]")`)
		p.Eval(`document.querySelector('.drive [data-place="` + touch.place + `"] [data-draw="` + touch.draws + `"]').dispatchEvent(new MouseEvent("click", {bubbles: true}))`)
		p.Until(`document.querySelector('.drive [data-place="` + touch.place + `"] [data-draw="touch chosen"]') !== null`)
		assert.Equal(t, 1, browser.Value[int](p, `document.querySelectorAll('.drive .place[aria-pressed="true"]').length`))
		assert.Equal(t, 1, browser.Value[int](p, `document.querySelectorAll('.evidence').length`))
	}
}
