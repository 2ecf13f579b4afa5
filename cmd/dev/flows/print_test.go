//go:build browser

package flows_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/cmd/dev/browser"
)

// TestTheReportPrints prints reports on the papers of the world: nothing sticks out,
// nothing is there to touch, charts and bars are, whatever the page wears on the screen.
func TestTheReportPrints(t *testing.T) {
	t.Parallel()
	s := serveStories(t)
	p := browser.Start(t).Open(s)
	p.Go("/") // the program is compiled once
	for name, most := range map[string]int{
		"report": 3, "report-forty": 5, "report-forty-german": 6, "report-forty-japanese": 5, "report-long-words": 3, "report-no-model": 1,
	} {
		t.Run(name, func(t *testing.T) {
			p.In(t)
			p.Go("/?story=" + name)
			p.Until(`document.querySelector(".report-section") !== null`)
			charts := !strings.HasSuffix(name, "no-model")
			assert.Equal(t, charts, browser.Value[bool](p, `document.querySelector(".report-odds") !== null`), "suspects are told where there is a model")
			for _, theme := range []string{"light", "dark", "contrast"} {
				p.Eval(`void (document.documentElement.dataset.theme = "` + theme + `")`)
				for _, paper := range browser.Papers {
					p.OnPaper(paper, func() {
						p.Prints()
						if charts {
							assert.Positive(t, browser.Value[int](p, `document.querySelectorAll(".barred .bar").length`), "the suspects have bars")
							p.Until(`document.querySelector(".chart svg").getBoundingClientRect().width > 300`)
						}
					})
				}
			}
			for _, paper := range browser.Papers {
				sheets := browser.Sheets(p.Print("print-"+name, paper))
				t.Logf("%s: %d sheets", paper, sheets)
				assert.Positive(t, sheets)
				assert.LessOrEqual(t, sheets, most, "%s", paper)
			}
		})
	}
}
