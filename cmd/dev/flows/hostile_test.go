//go:build browser

package flows_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A stranger's text must never be more than text. Each of these would do or show
// something else if it were taken for more; %d tells the fields apart.
var hostileTexts = []string{
	`<img src=x onerror="window.struck='%d'">`,
	`<script>window.struck='%d'</script>`,
	`"><svg onload="window.struck='%d'">`,
	`<a href="javascript:window.struck='%d'">press</a>`,
	`javascript:window.struck='%d'`,
	`</title><iframe srcdoc="<script>parent.struck='%d'</script>">`,
	"\u202egnp.%d\u202c \u2067turned\u2069",
	"zero\u200bwidth\u200d\ufeff %d \u00ad",
	"=HYPERLINK(\"http://elsewhere.example/%d\",\"press\")",
	"[press](javascript:window.struck='%d') ![x](http://elsewhere.example/%[1]d.png)",
	"style='position:fixed;inset:0' %d",
}

// spoil puts a hostile text in the place of every text that a person reads, and counts them.
func spoil(v any, n *int) any {
	switch v := v.(type) {
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(v)) {
			s, isText := v[key].(string)
			switch {
			case isText && slices.Contains([]string{"title", "text", "why", "cite", "revision", "label", "notes", "unit"}, key):
				v[key] = hostileText(n, s)
			case key == "steps":
				for i := range v[key].([]any) {
					v[key].([]any)[i] = hostileText(n, "")
				}
			default:
				v[key] = spoil(v[key], n)
			}
		}
	case []any:
		for i := range v {
			v[i] = spoil(v[i], n)
		}
	}
	return v
}

func hostileText(n *int, was string) string {
	*n++
	text := fmt.Sprintf(hostileTexts[*n%len(hostileTexts)], *n)
	if len(was) <= 8 && was != "" {
		return text[:min(len(text), 40)] // units and revisions are short by the format
	}
	return text
}

// harmless fails if any text of the page was taken for more than text.
func harmless(t *testing.T, p *browser.Page) {
	t.Helper()
	assert.Equal(t, "", browser.Value[string](p, `window.struck || ""`), "a script of a stranger ran")
	found := browser.Value[[]string](p, `[...document.querySelectorAll("iframe, object, embed, script:not([src]), [src^='x'], a[href^='javascript:'], [onerror], [onload], [style]")].map((e) => e.outerHTML.slice(0, 200))`)
	assert.Empty(t, found, "markup of a stranger")
	outside := browser.Value[[]string](p, `[...document.querySelectorAll("a[href], img[src], link[href], script[src]")].map((e) => e.href || e.src).filter((a) => !a.startsWith(location.origin) && !a.startsWith("blob:"+location.origin))`)
	assert.Empty(t, outside)
}

// TestAStrangersTextIsOnlyText reads in a unit and its model whose every text is
// hostile, walks all screens, and looks for what must not be there. Any request to
// another origin and any console error fails it besides.
func TestAStrangersTextIsOnlyText(t *testing.T) {
	t.Parallel()
	text, ok := catalog.Text("top-loader")
	require.True(t, ok)
	fields := 0
	var doc any
	require.NoError(t, json.Unmarshal(text, &doc))
	doc.(map[string]any)["id"] = "a-strangers"
	changed, err := json.Marshal(spoil(doc, &fields))
	require.NoError(t, err)
	m, err := model.Load(changed)
	require.NoError(t, err)

	long := strings.Repeat("long ", 1<<20/5) + "<script>window.struck='long'</script>"
	tr := trail.Trail{
		ID: "0HOSTILE0000000000000000AA", Created: "2026-03-04T10:11:12Z", ModelText: string(m.Text),
		Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit:  trail.Unit{Label: hostileText(&fields, ""), Notes: long},
		Terms: trail.Terms{MinuteValue: 0.4, Currency: "EUR", WorkingValue: 60, AsIsValue: 10, ComebackCost: 25},
		Events: []trail.Event{
			{N: 1, At: "2026-03-04T10:12:00Z", Kind: trail.Result, Test: "first-boot", Outcome: "asks"},
			{N: 2, At: "2026-03-04T10:13:00Z", Kind: trail.Note, Text: hostileText(&fields, "")},
			{N: 3, At: "2026-03-04T10:14:00Z", Kind: trail.Repair, Repair: "clean-lens"},
			{N: 4, At: "2026-03-04T10:15:00Z", Kind: trail.Result, Test: "known-disc", Outcome: "asks"},
			{N: 5, At: "2026-03-04T10:16:00Z", Kind: trail.Note, Text: long},
		},
	}
	for range hostileTexts {
		tr.Events = append(tr.Events, trail.Event{N: len(tr.Events) + 1, At: "2026-03-04T10:17:00Z", Kind: trail.Note, Text: hostileText(&fields, "")})
		fields++
	}
	file := filepath.Join(t.TempDir(), "stranger.json")
	require.NoError(t, os.WriteFile(file, tr.Encode(), 0o600))

	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	p.See("Find what is wrong")
	p.Upload("Read in a file", file)
	p.Until(`document.querySelectorAll(".event").length > 5`)
	settled(p)
	harmless(t, p)
	unit := "/unit/" + tr.ID
	for _, path := range []string{unit, unit + "/odds", unit + "/trail", unit + "/other", unit + "/report", "/"} {
		p.Go(path)
		p.Until(`document.getElementById("heading") !== null && !document.querySelector(".thinking")`)
		harmless(t, p)
		for _, found := range p.Layout() {
			if !strings.HasPrefix(found, "is broken within") { // short words give way where hostile ones take the room
				t.Error("the layout at this size: " + found)
			}
		}
		t.Logf("%s: %d elements, %d letters", path, browser.Value[int](p, `document.querySelectorAll("*").length`), browser.Value[int](p, `document.body.innerText.length`))
	}
	p.Go(unit)
	settled(p)
	read(p)
	harmless(t, p)
	p.Screenshot("hostile-step")
	t.Logf("%d hostile fields", fields)
	assert.Greater(t, fields, 700)
}
