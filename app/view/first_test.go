package view_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/maxence-charriere/go-app/v9/pkg/app"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"

	"pitwise/app/state"
	"pitwise/app/view"
	"pitwise/app/words"
)

// plain is what is drawn without ids and what refers to them, for the page has its own
// beside the first screen's, with attributes in order, and with no field to fill in.
func plain(t *testing.T, drawn string) string {
	t.Helper()
	body := &html.Node{Type: html.ElementNode, Data: "body", DataAtom: atom.Body}
	nodes, err := html.ParseFragment(strings.NewReader(drawn), body)
	require.NoError(t, err)
	var text strings.Builder
	for _, root := range nodes {
		for n := range root.Descendants() {
			n.Attr = slices.DeleteFunc(n.Attr, func(a html.Attribute) bool { return slices.Contains([]string{"id", "for", "tabindex"}, a.Key) })
			if n.Data == "input" {
				n.Attr = append(n.Attr, html.Attribute{Key: "disabled"})
			}
			slices.SortFunc(n.Attr, func(a, b html.Attribute) int { return strings.Compare(a.Key, b.Key) })
		}
		require.NoError(t, html.Render(&text, root))
	}
	return text.String() + "\n"
}

// TestTheFirstScreenIsTheEmptyBench holds web/first to what the page shows when nothing is
// stored: it is drawn before the program is there, which then takes its place unseen.
// PITWISE_RENEW=1 writes it anew.
func TestTheFirstScreenIsTheEmptyBench(t *testing.T) {
	dir := filepath.Join("..", "..", "web", "first")
	want := map[string]bool{}
	for _, l := range words.Languages() {
		var s state.State
		s.Ready, s.Lang, s.Route = true, l.ID, state.Route{Screen: state.ScreenBench}
		drawn := plain(t, app.HTMLString(view.Draw(s)))
		require.Contains(t, drawn, words.In(l.ID).Say(words.WelcomeLead))
		name := filepath.Join(dir, l.ID+".html")
		want[name] = true
		if os.Getenv("PITWISE_RENEW") != "" {
			require.NoError(t, os.WriteFile(name, []byte(drawn), 0o644))
		}
		kept, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Equal(t, drawn, string(kept), "%s is old; PITWISE_RENEW=1 go test ./app/view writes it anew", name)
	}
	there, err := filepath.Glob(filepath.Join(dir, "*"))
	require.NoError(t, err)
	for _, name := range there {
		assert.True(t, want[name], "%s belongs to no language", name)
	}
}
