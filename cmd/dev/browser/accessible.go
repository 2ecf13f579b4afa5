package browser

import (
	"fmt"

	"github.com/stretchr/testify/require"
)

// Accessible checks the page as it is now with axe-core, by the rules of
// WCAG 2.2 up to level AA and axe's own best practices. Each finding fails the
// test.
func (p *Page) Accessible() {
	p.t.Helper()
	if !Value[bool](p, `typeof axe === "object"`) {
		source, err := axeSource()
		require.NoError(p.t, err)
		p.Eval(source)
	}
	type node struct {
		Target         []any
		HTML           string
		FailureSummary string
	}
	found := Value[struct {
		Violations []struct {
			ID, Help, Impact string
			Nodes            []node
		}
		Passes int
	}](p, `axe.run(document, {
		runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
		resultTypes: ["violations"],
		// Fits measures these; axe takes what a fixed bar covers until one
		// scrolls for small.
		rules: {"target-size": {enabled: false}},
	}).then((r) => ({violations: r.violations, passes: r.passes.length}))`)
	require.Positive(p.t, found.Passes, "axe looked at something")
	for _, v := range found.Violations {
		for _, n := range v.Nodes {
			p.t.Errorf("axe: %s (%s, %s): %v %s\n%s", v.Help, v.ID, v.Impact, n.Target, n.HTML, n.FailureSummary)
		}
	}
}

// Looks are the page's themes that follow the device.
var Looks = []string{"light", "dark"}

// EachLook runs the check at each width in each look, light or dark, and photographs it as
// NAME-WIDTH-LOOK. Only Chromium is told a look; another engine has the one that it starts with.
func (p *Page) EachLook(name string, widths []int, looks []string, check func()) {
	p.t.Helper()
	told := p.b.Engine == Chromium
	if !told {
		looks = []string{string(p.b.Engine)}
	}
	for _, width := range widths {
		height := 844
		if width >= 1000 {
			height = 900
		}
		p.Size(width, height)
		if !told {
			p.Until(fmt.Sprintf("innerWidth === %d", width))
		}
		for _, look := range looks {
			if told {
				p.Media("prefers-color-scheme", look)
			}
			p.Rest()
			p.Screenshot(fmt.Sprintf("%s-%d-%s", name, width, look))
			check()
		}
	}
	p.Size(390, 844)
	if told {
		p.Media()
	}
	p.Rest()
}

// Rest brings all that moves or fades to its end.
func (p *Page) Rest() {
	p.t.Helper()
	p.Eval(`document.getAnimations().forEach((a) => { try { a.finish(); } catch {} })`)
}
