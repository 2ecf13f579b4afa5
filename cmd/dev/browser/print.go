package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/stretchr/testify/require"
)

// A Paper is a size of sheets.
type Paper struct {
	Name          string
	Width, Height float64 // inches
}

// Papers are what the world prints on: A4 by ISO 216, 210 by 297 mm, and Letter by
// ANSI/ASME Y14.1, 8.5 by 11 inches.
var Papers = []Paper{{"A4", 210 / 25.4, 297 / 25.4}, {"Letter", 8.5, 11}}

// margin is the least that the page's own print style leaves at each side, in inches.
const margin = 15 / 25.4

// Print returns the page as a PDF on the paper, and writes it to
// testdata/screens/NAME-PAPER.pdf.
func (p *Page) Print(name string, on Paper) []byte {
	p.t.Helper()
	pdf := ask(p, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: on.Width, PaperHeight: on.Height})
	dir := Screens(p.t)
	require.NoError(p.t, os.MkdirAll(dir, 0o755))
	require.NoError(p.t, os.WriteFile(filepath.Join(dir, name+"-"+on.Name+".pdf"), pdf.Data, 0o644))
	return pdf.Data
}

var pageObject = regexp.MustCompile(`/Type\s*/Page\b[^s]`)

// Sheets returns how many pages a PDF of Chromium's has.
func Sheets(pdf []byte) int { return len(pageObject.FindAll(pdf, -1)) }

// OnPaper shows the page as it is printed on the paper while the check runs.
func (p *Page) OnPaper(on Paper, check func()) {
	p.t.Helper()
	media := func(media string) {
		ask(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media})
	}
	p.Size(int((on.Width-2*margin)*96), int((on.Height-2*margin)*96))
	media("print")
	defer func() {
		media("")
		p.Size(390, 844)
	}()
	check()
}

// Prints checks the page as it is shown on paper: nothing sticks out, there is
// nothing to touch, and ink is black on white. Each finding fails the test.
func (p *Page) Prints() {
	p.t.Helper()
	findings := Value[[]string](p, `(() => {
		const found = [];
		const tell = (e) => e.tagName.toLowerCase() + " " + (e.getAttribute("class") || "") + " " + JSON.stringify((e.innerText || "").slice(0, 40));
		const width = document.documentElement.clientWidth;
		if (document.scrollingElement.scrollWidth > width) found.push("the page is " + document.scrollingElement.scrollWidth + " wide on paper of " + width);
		for (const e of document.body.querySelectorAll("*")) {
			if (!e.checkVisibility({opacityProperty: true, visibilityProperty: true})) continue;
			const r = e.getBoundingClientRect(), style = getComputedStyle(e);
			if (r.width <= 1 || r.height <= 1) continue;
			if (r.right > width + 1 || r.left < -1) found.push("sticks out: " + tell(e));
			if (e.matches("button, a[href], input, select, textarea, summary, [role=button]")) found.push("is to be touched: " + tell(e));
			if (!e.closest("svg") && e.innerText && style.color !== "rgb(0, 0, 0)") found.push("is not black but " + style.color + ": " + tell(e));
			if (!e.closest("svg") && !["rgba(0, 0, 0, 0)", "rgb(255, 255, 255)"].includes(style.backgroundColor)) found.push("has a ground of " + style.backgroundColor + ": " + tell(e));
			if (e.matches("tr, li, h2, h3, .chart") && style.breakInside !== "avoid") found.push("may be cut: " + tell(e));
			if (e.matches("h1, h2, h3") && style.breakAfter !== "avoid") found.push("may stand alone at the foot of a page: " + tell(e));
			if (e.matches("thead") && style.display !== "table-header-group") found.push("is not repeated: " + tell(e));
		}
		return found.slice(0, 20);
	})()`)
	if len(findings) > 0 {
		p.t.Errorf("the page on paper: %s", strings.Join(findings, "\n"))
	}
}

// String says the paper's name and size.
func (on Paper) String() string {
	return fmt.Sprintf("%s, %.0f by %.0f mm", on.Name, on.Width*25.4, on.Height*25.4)
}
