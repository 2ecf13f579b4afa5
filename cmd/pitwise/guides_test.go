package main

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
)

func TestHelpPrintsTheGuides(t *testing.T) {
	_, all, _ := called(t, "", "help")
	for _, g := range guides {
		assert.Contains(t, all, "pitwise help "+g.name)
		status, out, err := called(t, "", "help", g.name)
		assert.Zero(t, status)
		assert.Empty(t, err)
		assert.Equal(t, g.text, out)
	}
}

var (
	sentences = regexp.MustCompile(`(?:Say|One): +("(?:[^"\\]|\\.)*")`)
	verbs     = regexp.MustCompile(`%\d*[sd]`)
	quoted    = regexp.MustCompile(`“([^”]*)”`)
)

// said is every text that the page or a shipped model can show in English, as patterns.
func said(t *testing.T) *regexp.Regexp {
	source, err := os.ReadFile(filepath.Join("..", "..", "app", "words", "en.go"))
	require.NoError(t, err)
	var all []string
	for _, m := range sentences.FindAllSubmatch(source, -1) {
		text, err := strconv.Unquote(string(m[1]))
		require.NoError(t, err)
		all = append(all, verbs.ReplaceAllString(regexp.QuoteMeta(strings.ReplaceAll(text, "%%", "%")), `.+`))
	}
	require.Greater(t, len(all), 300)
	for _, e := range catalog.Models() {
		m, err := catalog.Load(e.ID)
		require.NoError(t, err)
		for _, tool := range m.Tools {
			all = append(all, regexp.QuoteMeta(tool.Title))
		}
		for _, c := range m.Cautions {
			all = append(all, regexp.QuoteMeta(c.Title))
		}
		for _, s := range m.Setups {
			all = append(all, regexp.QuoteMeta(s.Title))
		}
	}
	return regexp.MustCompile(`^(?:` + strings.Join(all, "|") + `)( …)?$`)
}

// TestTheGuidesQuoteWhatIsSaid: a guide that tells a button or a message which there is not helps
// nobody. Lines break anywhere in them.
func TestTheGuidesQuoteWhatIsSaid(t *testing.T) {
	says := said(t)
	for _, g := range guides {
		quotes := quoted.FindAllStringSubmatch(strings.Join(strings.Fields(g.text), " "), -1)
		quotes = slices.DeleteFunc(quotes, func(m []string) bool { return m[1] == "…" })
		for _, m := range quotes {
			assert.True(t, says.MatchString(m[1]), "%s quotes %q, which nothing says", g.name, m[1])
		}
		assert.NotEmpty(t, quotes, g.name)
	}
	assert.False(t, says.MatchString("Repair everything"))
}
