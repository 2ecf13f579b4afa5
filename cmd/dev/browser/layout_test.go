//go:build browser

package browser_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// TestTheLayoutCheckFindsWhatItShould puts fragments with a known defect onto a page that
// has none, and ones that only look like it.
func TestTheLayoutCheckFindsWhatItShould(t *testing.T) {
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/settings")
	require.Empty(t, p.Layout(), "the page as it is")
	for _, row := range []struct {
		name string
		make string // JavaScript that puts the fragment into box
		want string // "" for no finding
	}{
		{"two texts over each other", `box.append(text("one and the other"), text("lies on it")); box.lastChild.style.marginTop = "-1.2em"`, "lie over each other"},
		{"a button over a text", `box.append(text("what it says"), button("Tap")); box.lastChild.style.marginTop = "-2em"`, "lie over each other"},
		{"two buttons side by side, one too wide", `box.style.display = "flex"; box.append(button("First"), button("Second")); box.lastChild.style.marginLeft = "-3em"`, "lie over each other"},
		{"the last text under a bar", `const bar = button("Bar"); bar.style.cssText = "position: fixed; bottom: 0; left: 0; right: 0; height: 40vh"; document.querySelector(".foot").style.display = "none"; box.append(text("the last words"), bar)`, "does not come clear"},
		{"letters too small", `box.append(text("fine print")); box.lastChild.style.fontSize = "8px"`, "small to read"},
		{"small letters of a drawing", `const draw = (tag, attributes) => { const e = document.createElementNS("http://www.w3.org/2000/svg", tag); for (const k in attributes) e.setAttribute(k, attributes[k]); return e; };
			const svg = draw("svg", {viewBox: "0 0 300 30", width: "100"}), words = draw("text", {x: 0, y: 20, "font-size": 20}); words.textContent = "scaled down"; svg.append(words); box.append(svg)`, "small to read"},
		{"a text that is cut off", `box.append(text("a long text that has no room")); Object.assign(box.lastChild.style, {overflow: "hidden", whiteSpace: "nowrap", width: "5em"})`, "cut off"},
		{"a word that is broken", `box.append(text("two photographs")); Object.assign(box.lastChild.style, {width: "5em", overflowWrap: "anywhere"})`, "is broken within \"photographs\""},
		{"wider than the screen", `box.append(text("wide")); box.lastChild.style.width = "200vw"`, "wide on a screen"},
		{"small to touch", `box.append(button("x")); Object.assign(box.lastChild.style, {minWidth: "0", minHeight: "0", width: "20px", height: "20px", padding: "0"})`, "small to touch"},

		{"a text inside a button", `box.append(button("Tap")); box.lastChild.append(text("and more"))`, ""},
		{"lines of one text", `box.append(text("words ".repeat(200)))`, ""},
		{"a long word that is broken", `box.append(text("Uninterruptedgreyplastic")); Object.assign(box.lastChild.style, {width: "8em", overflowWrap: "anywhere"})`, ""},
		{"boxes that meet", `box.append(button("First"), button("Second"))`, ""},
		{"what a container clips", `box.style.cssText = "overflow: auto; height: 3em"; box.append(text("words ".repeat(200)), button("inside")); document.querySelector(".main").append(text("after it"))`, ""},
		{"text that passes under the bar and comes clear of it", `box.append(text("words ".repeat(3000)))`, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			p.In(t)
			p.Go("/settings")
			p.Eval(`(() => {
				const text = (s) => { const e = document.createElement("p"); e.textContent = s; return e; };
				const button = (s) => { const e = document.createElement("button"); e.className = "button"; e.textContent = s; return e; };
				const box = document.createElement("div");
				document.querySelector(".main").append(box);
				` + row.make + `;
			})()`)
			found := strings.Join(p.Layout(), "\n")
			if row.want == "" {
				assert.Empty(t, found)
			} else {
				assert.Contains(t, found, row.want)
			}
		})
	}
}
