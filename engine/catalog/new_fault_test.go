//go:build !wasm

package catalog_test

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/internal/evening"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// hinged is the family with the part of the page in it, under the page's terms.
type hinged struct {
	model   *model.Model
	space   *belief.Space
	terms   trail.Terms
	planner plan.Planner
}

func readHinged(t *testing.T) *hinged {
	t.Helper()
	part, err := os.ReadFile("authors/hinge.json")
	require.NoError(t, err)
	text, err := catalog.WithPart("top-loader", "hinge", part)
	require.NoError(t, err)
	h := &hinged{}
	h.model, err = model.Load(text)
	require.NoError(t, err)
	h.space, err = belief.NewSpace(h.model)
	require.NoError(t, err)
	h.terms = bench.DefaultTerms(h.model)
	h.planner, err = plan.New(h.space, h.terms)
	require.NoError(t, err)
	return h
}

// play plays the evenings of a file, each nth of them.
func (h *hinged) play(t *testing.T, name string, nth int, each func(t *testing.T, p *evening.Played)) {
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	all, err := evening.Read(bytes.NewReader(text), name)
	require.NoError(t, err)
	require.NotEmpty(t, all)
	for i := 0; i < len(all); i += nth {
		t.Run(all[i].Title, func(t *testing.T) {
			assert.Empty(t, all[i].Check(h.model))
			p, err := evening.Play(&all[i], h.space, h.terms, h.planner)
			require.NoError(t, err)
			each(t, p)
		})
	}
}

// evening is the new fault's evening as the page shows it.
func (h *hinged) evening(t *testing.T) string {
	var lines []string
	h.play(t, "authors/hinge.txt", 1, func(t *testing.T, p *evening.Played) {
		lines = append(lines, p.Lines...)
	})
	return "```text\n" + strings.Join(lines, "\n") + "\n```"
}

// TestANewFaultOfTheAuthorsPageIsFoundAndMended brings authors/hinge.json in as AUTHORS.md says, plays
// its evening, and some of those of the family again: a new fault must not spoil what was right.
func TestANewFaultOfTheAuthorsPageIsFoundAndMended(t *testing.T) {
	h := readHinged(t)
	rows := 0
	for i := range h.model.Tests {
		for _, row := range h.model.Tests[i].Given {
			if h.model.Modes[row.Mode].ID == "hinge.slack" {
				rows++
			}
		}
	}
	assert.Equal(t, 15, rows, "rows of the new fault; one for a test that there is not falls away")
	h.play(t, "authors/hinge.txt", 1, func(t *testing.T, p *evening.Played) {
		assert.Empty(t, p.Odd)
		assert.Equal(t, plan.SignOff, p.End)
		assert.Empty(t, p.Left)
		assert.Equal(t, []model.ModeID{"hinge.slack"}, p.Mended)
	})
	h.play(t, "../../testdata/evenings/top-loader.txt", 4, func(t *testing.T, p *evening.Played) { assert.Empty(t, p.Odd) })
}
