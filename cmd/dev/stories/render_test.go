package stories_test

import (
	"strings"
	"testing"

	"github.com/maxence-charriere/go-app/v9/pkg/app"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"pitwise/app/view"
	"pitwise/app/words"
	"pitwise/cmd/dev/stories"
)

// TestEveryStoryIsDrawnInEveryLanguage draws each story natively and looks at what
// no eye may have to find: a sentence with the wrong arguments, a control without a
// name, an inline style, two elements of one id.
func TestEveryStoryIsDrawnInEveryLanguage(t *testing.T) {
	for _, story := range stories.All {
		s := story.State()
		for _, l := range words.Languages() {
			t.Run(story.Name+" in "+l.Name, func(t *testing.T) {
				s.Lang = l.ID
				text := app.HTMLString(view.Draw(s))
				assert.NotContains(t, text, "%!", "a sentence does not fit its arguments")
				assert.NotContains(t, text, " style=", "the page's policy forbids inline styles")
				doc, err := html.Parse(strings.NewReader(text))
				require.NoError(t, err)
				ids, labels := map[string]bool{}, map[string]bool{}
				each(doc, func(n *html.Node) {
					if n.Data == "label" && strings.TrimSpace(inside(n)) != "" {
						labels[attr(n, "for")] = true
					}
				})
				each(doc, func(n *html.Node) {
					if id := attr(n, "id"); id != "" {
						assert.False(t, ids[id], "two elements have the id %q", id)
						ids[id] = true
					}
					named := attr(n, "aria-label") != "" || strings.TrimSpace(inside(n)) != ""
					switch n.Data {
					case "button", "a", "summary":
						assert.True(t, named, "a %s has no name: %v", n.Data, n.Attr)
					case "input", "select", "textarea":
						assert.True(t, labels[attr(n, "id")], "a field has no label: %v", n.Attr)
					case "section", "nav":
						assert.False(t, attr(n, "role") == "region" && !named)
					}
				})
				assert.True(t, ids["heading"], "the page has no heading")
			})
		}
	}
}

func each(n *html.Node, f func(*html.Node)) {
	if n.Type == html.ElementNode {
		f(n)
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		each(c, f)
	}
}

func inside(n *html.Node) string {
	if n.Type == html.TextNode {
		return n.Data
	}
	var b strings.Builder
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		b.WriteString(inside(c))
	}
	return b.String()
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}
