package view

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"golang.org/x/net/html"

	"pitwise/app/state"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/trail"
)

// TestNothingMovesABanner: what comes and goes (the last thing done, a sheet) is drawn below
// the banners, so that a tap on "Store again" meets it wherever the person is.
func TestNothingMovesABanner(t *testing.T) {
	m, err := catalog.Load("top-loader")
	if err != nil {
		t.Fatal(err)
	}
	unit := func(sheet state.Sheet) state.State {
		u := &state.Unit{Unit: bench.Unit{Model: m, Trail: &trail.Trail{ID: "a", Events: []trail.Event{{N: 1, Kind: trail.Note, Text: "x"}}}}}
		u.Sheet = sheet
		return state.State{Ready: true, Route: state.Route{Screen: state.ScreenUnit, Unit: "a"}, Unit: u}
	}
	for name, s := range map[string]state.State{
		"a bench":           {Ready: true},
		"a unit":            unit(state.NoSheet),
		"a sheet":           unit(state.SheetNote),
		"a settings screen": {Ready: true, Route: state.Route{Screen: state.ScreenSettings}},
	} {
		t.Run(name, func(t *testing.T) {
			s.Storage.Trouble = state.TroubleFull
			var above []string
			find(parsed(t, english().page(s)), "aside", func(n *html.Node) {
				if attrOf(n, "class") != "banners" {
					return
				}
				for b := n.PrevSibling; b != nil; b = b.PrevSibling {
					if b.Type == html.ElementNode {
						above = append(above, b.Data)
					}
				}
			})
			assert.Equal(t, []string{"header"}, above)
		})
	}
}
