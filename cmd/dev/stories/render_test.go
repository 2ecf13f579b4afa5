package stories_test

import (
	"regexp"
	"strconv"
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
				assert.NotRegexp(t, stepZero, text, "what the owner says has no number")
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

// stepZero is a step's name with the number of what is no step.
var stepZero = regexp.MustCompile(`(?i)\b(step|schritt|paso) 0\b|手順 ?0[^-9]`)

// TestTheNumbersBelowTheChartKeepApart measures them with digits as wide as the page's.
func TestTheNumbersBelowTheChartKeepApart(t *testing.T) {
	const digit = 8.5
	for _, name := range []string{"odds-forty", "report-forty", "odds-three-faults", "odds"} {
		t.Run(name, func(t *testing.T) {
			story, ok := stories.Find(name)
			require.True(t, ok)
			doc, err := html.Parse(strings.NewReader(app.HTMLString(view.Draw(story.State()))))
			require.NoError(t, err)
			end, n := 0.0, 0
			each(doc, func(e *html.Node) {
				if e.Data != "text" || attr(e, "text-anchor") != "middle" || attr(e, "y") != "197" {
					return
				}
				n++
				x, err := strconv.ParseFloat(attr(e, "x"), 64)
				require.NoError(t, err)
				half := digit / 2 * float64(len(strings.TrimSpace(inside(e))))
				assert.Greater(t, x-half, end, "%s stands against the number before", inside(e))
				end = x + half + 3
			})
			assert.Greater(t, n, 4, "there are numbers")
		})
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
