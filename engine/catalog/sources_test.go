package catalog

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/document"
	"pitwise/engine/model"
)

// A figure is one line of SOURCES.md.
type figure struct {
	block, what, value string
	source             model.SourceID
	kind               model.SourceKind
	families           []string
}

// numbers returns every number of all models, those that families share once.
func numbers(t *testing.T) []*figure {
	t.Helper()
	var all []*figure
	seen := map[string]*figure{}
	for _, id := range families {
		m, err := Load(id)
		require.NoError(t, err)
		add := func(block, what, value string, source model.SourceID, published bool) {
			s, ok := m.Source(source)
			require.True(t, ok, "%s: %s", block, source)
			kind := s.Kind
			if kind == model.Published && !published {
				kind = model.Memory // an estimate that the source led
			}
			if kind == model.Practice && !strings.HasPrefix(what, "band ") && what != "nominal" {
				kind = model.Memory // the step and its limits are practice, not its odds
			}
			key := strings.Join([]string{block, what, value, string(source)}, "|")
			if seen[key] == nil {
				seen[key] = &figure{block, what, value, source, kind, nil}
				all = append(all, seen[key])
			}
			seen[key].families = append(seen[key].families, id)
		}
		cost := func(minutes, money float64) string {
			return document.Number64(minutes) + " min, " + document.Number64(money)
		}
		chances := func(c []model.Chance) string {
			var s []string
			for _, x := range c {
				s = append(s, fmt.Sprintf("%s %s", m.Modes[x.Mode].ID, document.Number64(x.P)))
			}
			return strings.Join(s, ", ")
		}
		row := func(p []float64) string {
			var s []string
			for _, x := range p {
				s = append(s, document.Number64(x))
			}
			return strings.Join(s, " ")
		}
		for i, x := range m.Setups {
			if i == m.Root {
				continue
			}
			for _, step := range []struct {
				name string
				model.Step
			}{{"enter", x.Enter}, {"leave", x.Leave}} {
				add("setup "+string(x.ID), step.name, cost(step.Minutes, step.Money), step.Source, false)
				if len(step.Change.Risks) > 0 {
					add("setup "+string(x.ID), step.name+" risks", chances(step.Change.Risks), step.Source, false)
				}
			}
		}
		for _, x := range m.Modes {
			add("mode "+string(x.ID), "prior", document.Number64(x.Prior), x.Source, false)
		}
		for _, x := range m.Tests {
			block := "test " + string(x.ID)
			if r := x.Reading; r != nil {
				for _, o := range x.Outcomes {
					band := "up to " + document.Number64(o.To) + " " + r.Unit
					switch {
					case math.IsInf(o.From, -1):
					case math.IsInf(o.To, 1):
						band = "from " + document.Number64(o.From) + " " + r.Unit
					default:
						band = document.Number64(o.From) + " to " + document.Number64(o.To) + " " + r.Unit
					}
					add(block, "band "+string(o.ID), band, x.Source, isPublished(id, x.ID, o.ID))
				}
				if r.Nominal != nil {
					add(block, "nominal", document.Number64(*r.Nominal)+" "+r.Unit, x.Source, isPublished(id, x.ID, ""))
				}
				add(block, "meter's limits", document.Number64(r.Percent)+" % + "+document.Number64(r.Absolute)+" "+r.Unit, x.Source, false)
			}
			add(block, "cost", cost(x.Minutes, x.Money), x.Source, false)
			add(block, "steadiness", document.Number64(x.Steadiness), x.Source, false)
			add(block, "healthy", row(x.Healthy), x.Source, false)
			for _, g := range x.Given {
				add(block, string(m.Modes[g.Mode].ID), row(g.P), x.Source, false)
			}
		}
		for _, x := range m.Repairs {
			add("repair "+string(x.ID), "cost", cost(x.Minutes, x.Money), x.Source, false)
			add("repair "+string(x.ID), "fixes", chances(x.Change.Fixes), x.Source, false)
			if x.Steadiness > 0 {
				add("repair "+string(x.ID), "steadiness", document.Number64(x.Steadiness), x.Source, false)
			}
			if len(x.Change.Risks) > 0 {
				add("repair "+string(x.ID), "risks", chances(x.Change.Risks), x.Source, false)
			}
		}
	}
	return all
}

// table writes SOURCES.md.
func table(t *testing.T) string {
	t.Helper()
	all := numbers(t)
	var b strings.Builder
	b.WriteString("# Where the numbers come from\n\n" +
		"Written by the test TestTheTableOfSourcesIsUpToDate of this package; renew it with `PITWISE_UPDATE=1 go test ./engine/catalog`.\n\n" +
		"A block names a source of kind published only if it has bands or a nominal value that figures_test.go holds to the work;\n" +
		"these numbers alone count as published, what else stands in the block (odds, costs, other bands) counts as memory, and the\n" +
		"source says so. A step of common practice does not make its odds practice: of such a block the bands alone count as practice.\n" +
		"Every number of odds weighs as eight watched units, wherever its step comes from; the shares of modes weigh as a hundred. Where a work says what happens but gives no number, the source is of kind memory and names the work that led\n" +
		"the estimate, with its place. No prior and no row of odds is published.\n\n" +
		"## Kinds\n\n| family | published | practice | memory | all |\n| --- | ---: | ---: | ---: | ---: |\n")
	count := func(family string) (n map[model.SourceKind]int, sum int) {
		n = map[model.SourceKind]int{}
		for _, x := range all {
			if family == "" || slices.Contains(x.families, family) {
				n[x.kind]++
				sum++
			}
		}
		return n, sum
	}
	for _, id := range families {
		n, sum := count(id)
		fmt.Fprintf(&b, "| %s | %d | %d | %d | %d |\n", id, n[model.Published], n[model.Practice], n[model.Memory], sum)
	}
	n, sum := count("")
	fmt.Fprintf(&b, "| all, shared ones once | %d | %d | %d | %d |\n", n[model.Published], n[model.Practice], n[model.Memory], sum)
	b.WriteString("\n## Sources\n\n| id | kind | numbers | work |\n| --- | --- | ---: | --- |\n")
	uses := map[model.SourceID]int{}
	for _, x := range all {
		uses[x.source]++
	}
	done := map[model.SourceID]bool{}
	for _, id := range families {
		m, err := Load(id)
		require.NoError(t, err)
		for _, s := range m.Sources {
			if !done[s.ID] {
				done[s.ID] = true
				fmt.Fprintf(&b, "| %s | %s | %d | %s |\n", s.ID, s.Kind, uses[s.ID], s.Cite)
			}
		}
	}
	b.WriteString("\n## Numbers\n\nRows list the odds of a test's outcomes, best first.\n")
	block := ""
	for _, kind := range []string{"setup", "mode", "test", "repair"} {
		for _, x := range all {
			if !strings.HasPrefix(x.block, kind+" ") {
				continue
			}
			if kind != block {
				block = kind
				fmt.Fprintf(&b, "\n### %ss\n\n| block | number | value | source | kind | families |\n| --- | --- | --- | --- | --- | --- |\n", kind)
			}
			where := "all"
			if len(x.families) < len(families) {
				where = strings.Join(x.families, ", ")
			}
			fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %s |\n", strings.TrimPrefix(x.block, kind+" "), x.what, x.value, x.source, x.kind, where)
		}
	}
	return b.String()
}

func TestTheTableOfSourcesIsUpToDate(t *testing.T) {
	const name = "SOURCES.md"
	want := table(t)
	if os.Getenv("PITWISE_UPDATE") == "1" {
		require.NoError(t, os.WriteFile(name, []byte(want), 0o644))
	}
	got, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, want, string(got), "renew it: PITWISE_UPDATE=1 go test ./engine/catalog")
}

// What is called published is a band or a nominal value that some test holds.
func TestPublishedNumbersAreFigures(t *testing.T) {
	published := 0
	for _, x := range numbers(t) {
		if x.kind == model.Published {
			published++
			assert.Regexp(t, `^(band |nominal)`, x.what, x.block)
		}
	}
	assert.GreaterOrEqual(t, published, 16)
}

// A block may not borrow the name of a work for numbers that are not in it.
func TestOnlyBlocksWithAPublishedFigureNameAPublishedSource(t *testing.T) {
	figures, blocks := map[string]bool{}, map[string]*figure{}
	for _, x := range numbers(t) {
		key := x.block + " " + string(x.source)
		blocks[key] = x
		figures[key] = figures[key] || x.kind == model.Published
	}
	kinds := map[model.SourceID]model.Source{}
	for _, id := range families {
		m, err := Load(id)
		require.NoError(t, err)
		for _, s := range m.Sources {
			kinds[s.ID] = s
			weight := 8.0
			if strings.HasPrefix(string(s.ID), "share-") {
				weight = 100 // eight units cannot teach that one in a hundred has a fault
			}
			assert.Equal(t, weight, s.Weight, "%s: its odds are memory, whatever its limits are", s.ID)
			switch s.Kind {
			case model.Published:
				assert.Contains(t, s.Cite, "The limits alone: odds and costs beside them are estimates from memory", s.ID)
				assert.Regexp(t, `(p\. |section|clause|table|entry)`, s.Cite, "%s: the place in the work", s.ID)
			case model.Memory:
				assert.Regexp(t, `^estimate from memory(, of .*|, led by: .*(p\. |sections? |part |steps ).*)?$`, s.Cite, s.ID)
			case model.Practice:
				assert.Equal(t, "common practice, no source, for the step and its limits: odds and costs beside them are estimates from memory", s.Cite, s.ID)
			}
		}
	}
	for key, x := range blocks {
		if kinds[x.source].Kind == model.Published {
			assert.True(t, figures[key], "%s names %s, and none of its numbers is held to it", x.block, x.source)
		}
	}
}
