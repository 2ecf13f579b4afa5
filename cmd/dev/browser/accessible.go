package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/stretchr/testify/require"
)

// Accessible checks the page as it is now with axe-core, by the rules of
// WCAG 2.2 up to level AA and axe's own best practices. Each finding fails the
// test.
func (p *Page) Accessible() {
	p.t.Helper()
	if !Value[bool](p, `typeof axe === "object"`) {
		source, err := os.ReadFile(filepath.Join(Tree(p.t).Root, "testdata", "npm", "node_modules", "axe-core", "axe.min.js"))
		require.NoError(p.t, err, `"go run ./cmd/dev test browser" installs axe-core`)
		p.Eval("void function() {" + string(source) + "}.call(window)")
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

// Fits checks the layout as it is now: nothing sticks out sideways, no text is
// cut off, and everything to touch is at least 44 points high or wide enough
// (links within a line of text aside). Each finding fails the test.
func (p *Page) Fits() {
	p.t.Helper()
	findings := Value[[]string](p, `(() => {
		const found = [];
		const tell = (e) => {
			const r = e.getBoundingClientRect();
			return e.tagName.toLowerCase() + (e.id ? "#" + e.id : "") + (e.className && e.className.baseVal === undefined ? "." + e.className.trim().replace(/\s+/g, ".") : "") +
				" " + JSON.stringify((e.innerText || e.getAttribute("aria-label") || "").slice(0, 40)) +
				" at " + [r.left, r.top, r.width, r.height].map((n) => Math.round(n)).join(",");
		};
		const width = document.documentElement.clientWidth;
		if (document.scrollingElement.scrollWidth > width) {
			found.push("the page is " + document.scrollingElement.scrollWidth + " wide on a screen of " + width);
		}
		const scrolls = (e) => {
			for (; e; e = e.parentElement) {
				if (["auto", "scroll"].includes(getComputedStyle(e).overflowX) && e !== document.documentElement && e !== document.body) return true;
			}
			return false;
		};
		for (const e of document.body.querySelectorAll("*")) {
			if (!e.checkVisibility({opacityProperty: true, visibilityProperty: true}) || e.closest("svg") && e.tagName !== "svg") continue;
			const r = e.getBoundingClientRect(), style = getComputedStyle(e);
			// What only a screen reader gets is a point in size.
			if (r.width <= 1 || r.height <= 1 || style.clipPath !== "none") continue;
			const hasText = [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim());
			if ((r.right > width + 1 || r.left < -1) && !scrolls(e)) found.push("sticks out: " + tell(e));
			if (hasText && ["hidden", "clip"].includes(style.overflowX) && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 2)) {
				found.push("is cut off: " + tell(e));
			}
			const touch = e.matches("button, a[href], input:not([type=hidden]), select, textarea, summary");
			const inLine = e.matches("a") && style.display === "inline";
			if (touch && !inLine) {
				// A label's area counts as its field's.
				const boxes = [r, ...[...(e.labels || [])].map((l) => l.getBoundingClientRect())];
				if (!boxes.some((b) => b.height >= 43.5 && b.width >= 43.5)) found.push("is small to touch: " + tell(e));
			}
		}
		return found.slice(0, 20);
	})()`)
	if len(findings) > 0 {
		p.t.Errorf("the layout at this size: %s", strings.Join(findings, "\n"))
	}
}

// EachLook runs the check in light and dark at each width, and photographs it
// as NAME-WIDTH-LOOK.
func (p *Page) EachLook(name string, widths []int, check func()) {
	p.t.Helper()
	for _, width := range widths {
		height := 844
		if width >= 1000 {
			height = 900
		}
		p.Size(width, height)
		for _, look := range []string{"light", "dark"} {
			p.Media("prefers-color-scheme", look)
			p.Eval(`document.getAnimations().forEach((a) => { try { a.finish(); } catch {} })`)
			p.Screenshot(fmt.Sprintf("%s-%d-%s", name, width, look))
			check()
		}
	}
	p.Size(390, 844)
	p.Media()
}
