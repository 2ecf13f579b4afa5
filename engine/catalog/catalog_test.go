package catalog

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/model"
)

// each runs a test on every shipped model.
func each(t *testing.T, f func(t *testing.T, m *model.Model)) {
	t.Helper()
	for _, id := range families {
		t.Run(id, func(t *testing.T) {
			m, err := Load(id)
			require.NoError(t, err)
			f(t, m)
		})
	}
}

func TestEveryFamilyLoadsWithoutADefect(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		assert.Contains(t, families, m.ID)
		assert.NotEmpty(t, m.Title)
		assert.Equal(t, 3, m.MostFaults)
	})
}

func TestAModelIsListedUnderTheSumOfItsText(t *testing.T) {
	entries := Models()
	require.Len(t, entries, len(families))
	for i, e := range entries {
		assert.Equal(t, families[i], e.ID)
		text, ok := Text(e.ID)
		require.True(t, ok)
		sum := sha256.Sum256(text)
		assert.Equal(t, hex.EncodeToString(sum[:]), e.SHA256)
		m, err := Load(e.ID)
		require.NoError(t, err)
		assert.Equal(t, e.SHA256, m.SHA256)
		assert.Equal(t, e.Title, m.Title)
		assert.Equal(t, e.Revision, m.Revision)
	}
	_, ok := Text("toaster")
	assert.False(t, ok)
	_, err := Load("toaster")
	assert.ErrorIs(t, err, ErrUnknown)
}

func TestComposingAgainGivesTheSameBytes(t *testing.T) {
	for _, id := range families {
		want, ok := Text(id)
		require.True(t, ok)
		s, err := newShelf(files)
		require.NoError(t, err)
		text, err := files.ReadFile("families/" + id + ".json")
		require.NoError(t, err)
		got, err := compose(read(id, text, familyForm), s)
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got))
	}
}

// What comes and goes, and what needs another cure, are modes of their own: that is why the
// upper bounds stand where they do. Planning time goes with the number of hypotheses.
func TestEveryFamilyIsAsWideAsAskedAndAsLightAsAPhoneNeeds(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		outside, bare, readings, told := 0, 0, 0, 0
		for _, test := range m.Tests {
			if test.Told {
				told++
			} else if test.At == m.Root {
				outside++
				if m.Bare(&test) {
					bare++
				}
			}
			if test.Reading != nil {
				readings++
			}
		}
		assert.GreaterOrEqual(t, len(m.Components), 20)
		assert.GreaterOrEqual(t, len(m.Modes), 34)
		assert.LessOrEqual(t, len(m.Modes), 55)
		assert.GreaterOrEqual(t, len(m.Tests), 42)
		assert.GreaterOrEqual(t, bare, 10, "tests with the cover on and no tool")
		assert.GreaterOrEqual(t, readings, 6)
		assert.GreaterOrEqual(t, told, 6, "questions to the owner")
		assert.Equal(t, 2, m.Version)
		assert.Equal(t, "EUR", m.Currency)
		assert.True(t, m.Tests[m.Intake].Told, "the owner's complaint is the intake test")
		assert.Equal(t, model.TestID("known-disc"), m.Tests[m.Proof].ID)
		assert.GreaterOrEqual(t, len(m.Repairs), 24)
		assert.GreaterOrEqual(t, len(m.Setups), 3)
		s, err := belief.NewSpace(m)
		require.NoError(t, err)
		assert.LessOrEqual(t, s.Len(), 26000)
		t.Logf("components %d, modes %d, tests %d (%d outside, %d of them without a tool, %d readings), repairs %d, setups %d, hypotheses %d, text %d bytes, dropped %.4f",
			len(m.Components), len(m.Modes), len(m.Tests), outside, bare, readings, len(m.Repairs), len(m.Setups), s.Len(), len(m.Text), s.Prior().Dropped())
	})
}

func TestEveryBlockOfNumbersNamesItsSource(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		for _, x := range m.Modes {
			assert.NotEmpty(t, x.Source, x.ID)
		}
		for _, x := range m.Tests {
			assert.NotEmpty(t, x.Source, x.ID)
		}
		for _, x := range m.Repairs {
			assert.NotEmpty(t, x.Source, x.ID)
		}
		for i, x := range m.Setups {
			if i != m.Root {
				assert.NotEmpty(t, x.Enter.Source, x.ID)
				assert.NotEmpty(t, x.Leave.Source, x.ID)
			}
		}
	})
}

// No work was found that counts faults.
func TestNoPriorPassesForPublished(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		for _, x := range m.Modes {
			s, ok := m.Source(x.Source)
			require.True(t, ok)
			assert.NotEqual(t, model.Published, s.Kind, x.ID)
		}
	})
}

func TestWordsAreShortAndPlain(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		short := func(s string, most int, what ...any) {
			assert.NotEmpty(t, s, fmt.Sprint(what...))
			assert.LessOrEqual(t, utf8.RuneCountInString(s), most, s+" "+fmt.Sprint(what...))
			assert.NotRegexp(t, `[{}]|^ | $|  |;;`, s, fmt.Sprint(what...))
		}
		steps := func(list []string, what ...any) {
			assert.NotEmpty(t, list, fmt.Sprint(what...))
			for _, s := range list {
				short(s, 200, what...)
				assert.Regexp(t, `[.?!]$`, s, fmt.Sprint(what...))
			}
		}
		for _, x := range m.Components {
			short(x.Title, 40, x.ID)
		}
		for _, x := range m.Modes {
			short(x.Title, 50, x.ID)
		}
		for _, x := range m.Tests {
			short(x.Title, 42, x.ID)
			short(x.Why, 140, x.ID)
			if !x.Told {
				steps(x.Steps, x.ID)
			}
			seen := map[string]bool{}
			for _, o := range x.Outcomes {
				short(o.Title, 32, x.ID, o.ID)
				assert.False(t, seen[o.Title], "%s: two buttons read %q", x.ID, o.Title)
				seen[o.Title] = true
			}
		}
		for _, x := range m.Repairs {
			short(x.Title, 42, x.ID)
			steps(x.Steps, x.ID)
		}
		for i, x := range m.Setups {
			short(x.Title, 30, x.ID)
			if i != m.Root {
				steps(x.Enter.Steps, x.ID)
				steps(x.Leave.Steps, x.ID)
			}
		}
		for _, x := range m.Cautions {
			short(x.Title, 32, x.ID)
			assert.NotEmpty(t, x.Text, x.ID)
			assert.LessOrEqual(t, len(strings.Fields(x.Text)), 40, "%s is read in a breath", x.ID)
			assert.Empty(t, x.Steps, "%s: all that must be read is its text", x.ID)
			short(x.Why, 500, x.ID)
			assert.Regexp(t, `(?i)\bnot?\b|nobody|never|away`, x.Text, "%s says who or what should keep off", x.ID)
		}
	})
}

// A number corrected in a part is corrected in every family: what two families share
// is the same in both, but for what one of them says it changes.
func TestSharedBlocksAreTheSameInAllFamilies(t *testing.T) {
	first, err := Load("top-loader")
	require.NoError(t, err)
	changed := map[string]bool{}
	for _, id := range families {
		text, err := files.ReadFile("families/" + id + ".json")
		require.NoError(t, err)
		for _, kind := range []string{"modes", "tests", "repairs"} {
			for id := range read(id, text, familyForm).root.Get("change").Get(kind).Members() {
				changed[id] = true
			}
		}
	}
	assert.LessOrEqual(t, len(changed), 22, "changes are exceptions")
	shared := 0
	each(t, func(t *testing.T, m *model.Model) {
		for _, x := range m.Tests {
			y, ok := first.Test(x.ID)
			if !ok || changed[string(x.ID)] {
				continue
			}
			assert.Equal(t, y.Healthy, x.Healthy, x.ID)
			assert.Equal(t, y.Minutes, x.Minutes, x.ID)
			assert.Equal(t, y.Steadiness, x.Steadiness, x.ID)
			for _, row := range x.Given {
				shared++
				mode := m.Modes[row.Mode].ID
				if i := rowOf(first, y, mode); i >= 0 && !strings.HasPrefix(string(mode), "switch.") {
					assert.Equal(t, y.Given[i].P, row.P, "%s given %s", x.ID, mode)
				}
			}
		}
		for _, x := range m.Modes {
			if y, ok := first.Mode(x.ID); ok && !changed[string(x.ID)] {
				assert.Equal(t, y.Prior, x.Prior, x.ID)
			}
		}
	})
	assert.Greater(t, shared, 1500)
}

func rowOf(m *model.Model, t *model.Test, mode model.ModeID) int {
	for i, row := range t.Given {
		if m.Modes[row.Mode].ID == mode {
			return i
		}
	}
	return -1
}

func TestEveryFaultCanBeSeenAndMended(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		seen, mended := make([]int, len(m.Modes)), make([]float64, len(m.Modes))
		for _, x := range m.Tests {
			for _, row := range x.Given {
				seen[row.Mode]++
			}
		}
		for _, x := range m.Repairs {
			for _, c := range x.Change.Fixes {
				mended[c.Mode] = max(mended[c.Mode], c.P)
			}
		}
		for i, x := range m.Modes {
			assert.GreaterOrEqual(t, seen[i], 3, "%s shows in tests", x.ID)
			assert.GreaterOrEqual(t, mended[i], 0.6, "%s has a repair that mostly works", x.ID)
		}
	})
}

// The places are written down in the package's doc for whoever draws the pictures.
func TestEveryPlaceIsWrittenDown(t *testing.T) {
	doc, err := os.ReadFile("doc.go")
	require.NoError(t, err)
	_, places, ok := strings.Cut(string(doc), "# Places on the drive picture")
	require.True(t, ok)
	places, _, _ = strings.Cut(places, "# Costs")
	each(t, func(t *testing.T, m *model.Model) {
		all := map[string]bool{}
		for _, c := range m.Components {
			all[c.Place] = true
			assert.Regexp(t, regexp.MustCompile(`[ (]`+regexp.QuoteMeta(c.Place)+`[,. ]`), places)
		}
		assert.LessOrEqual(t, len(all), 18)
	})
}

func BenchmarkComposeAndLoad(b *testing.B) {
	for b.Loop() {
		s, err := newShelf(files)
		require.NoError(b, err)
		text, err := files.ReadFile("families/tray.json")
		require.NoError(b, err)
		composed, err := compose(read("tray", text, familyForm), s)
		require.NoError(b, err)
		_, err = model.Load(composed)
		require.NoError(b, err)
	}
}
