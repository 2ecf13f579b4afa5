package catalog_test

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A story is one unit of testdata/stories; its README explains the lines.
type story struct {
	title   string
	where   string // file:line
	truth   []model.ModeID
	brought []model.ModeID
	slips   []int
	events  []trail.Event
	claims  []claim
}

// A claim is something that must hold once the first after events are recorded.
type claim struct {
	where string
	after int
	kind  string // leads, trio, likely, sound, unsound, doubt, origin, never
	words []string
}

const storiesDir = "../../testdata/stories"

// readStories reads the stories of a family.
func readStories(t *testing.T, family string) []story {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(storiesDir, family, "*.txt"))
	require.NoError(t, err)
	require.NotEmpty(t, names)
	slices.Sort(names)
	var all []story
	for _, name := range names {
		f, err := os.Open(name)
		require.NoError(t, err)
		lines := bufio.NewScanner(f)
		for n := 1; lines.Scan(); n++ {
			where := fmt.Sprintf("%s:%d", filepath.Base(name), n)
			text, _, _ := strings.Cut(lines.Text(), "#")
			kind, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
			rest = strings.TrimSpace(rest)
			words := strings.Fields(rest)
			if kind == "" {
				continue
			}
			if kind == "story" {
				all = append(all, story{title: rest, where: where})
				continue
			}
			require.NotEmpty(t, all, where)
			s := &all[len(all)-1]
			count := func(n int) { require.Len(t, words, n, where) }
			add := func(e trail.Event) {
				e.N = len(s.events) + 1
				e.At = fmt.Sprintf("2026-01-01T%02d:%02d:00Z", 10+e.N/60, e.N%60)
				s.events = append(s.events, e)
			}
			switch kind {
			case "truth", "brought":
				for _, w := range words {
					if kind == "truth" {
						s.truth = append(s.truth, model.ModeID(w))
					} else {
						s.brought = append(s.brought, model.ModeID(w))
					}
				}
			case "tell":
			case "slip":
				count(1)
				n, err := strconv.Atoi(rest)
				require.NoError(t, err, where)
				s.slips = append(s.slips, n)
			case "result":
				count(2)
				e := trail.Event{Kind: trail.Result, Test: model.TestID(words[0])}
				if x, err := strconv.ParseFloat(words[1], 64); err == nil {
					e.Reading = &x
				} else {
					e.Outcome = model.OutcomeID(words[1])
				}
				add(e)
			case "setup":
				count(1)
				add(trail.Event{Kind: trail.Setup, Setup: model.SetupID(rest)})
			case "repair":
				count(1)
				add(trail.Event{Kind: trail.Repair, Repair: model.RepairID(rest)})
			case "void":
				count(1)
				n, err := strconv.Atoi(rest)
				require.NoError(t, err, where)
				add(trail.Event{Kind: trail.Void, Of: n, Reason: "looked again"})
			case "leads", "trio", "likely", "sound", "unsound", "doubt", "origin", "never":
				require.NotEmpty(t, words, where)
				s.claims = append(s.claims, claim{where: where, after: len(s.events), kind: kind, words: words})
			default:
				require.Fail(t, "unknown kind of line", "%s: %q", where, kind)
			}
		}
		require.NoError(t, lines.Err())
		require.NoError(t, f.Close())
	}
	return all
}

// at returns the account, the trail and the model's belief after the first n events.
func (s *story) trail(m *model.Model, n int) *trail.Trail {
	return &trail.Trail{
		ID: "story", Created: "2026-01-01T10:00:00Z",
		Model:  trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit:   trail.Unit{Label: s.title},
		Terms:  trail.Terms{MinuteValue: 0.25, Currency: "EUR", WorkingValue: 80, AsIsValue: 10, ComebackCost: 40},
		Events: s.events[:n],
	}
}

// leading returns modes by falling probability.
func leading(m *model.Model, p []float64) []model.ModeID {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] > p[b]:
			return -1
		case p[a] < p[b]:
			return 1
		}
		return 0
	})
	var ids []model.ModeID
	for _, i := range order {
		ids = append(ids, m.Modes[i].ID)
	}
	return ids
}

// suspects shows the leading suspects, for messages.
func suspects(m *model.Model, o trail.Odds) string {
	s := fmt.Sprintf("sound %.3f", o.Sound)
	for _, id := range leading(m, o.Modes)[:6] {
		mode, _ := m.Mode(id)
		s += fmt.Sprintf(", %s %.3f", id, o.Modes[mode.Index])
	}
	return s
}

func (c *claim) modes(t *testing.T, m *model.Model) []*model.Mode {
	t.Helper()
	var all []*model.Mode
	for _, w := range c.words {
		mode, ok := m.Mode(model.ModeID(w))
		require.True(t, ok, "%s: no mode %s", c.where, w)
		all = append(all, mode)
	}
	return all
}

// holds checks one claim of a story.
func (c *claim) holds(t *testing.T, space *belief.Space, s *story) {
	t.Helper()
	m := space.Model()
	tr := s.trail(m, c.after)
	account, err := trail.Replay(space, tr)
	require.NoError(t, err, c.where)
	now := account.Lines[len(account.Lines)-1].Odds
	order := leading(m, now.Modes)
	said := c.where + ": " + c.kind + " " + strings.Join(c.words, " ") + "\n" + suspects(m, now)
	switch c.kind {
	case "leads":
		c.modes(t, m)
		assert.Contains(t, c.words, string(order[0]), said)
	case "trio":
		for _, x := range c.modes(t, m) {
			assert.Contains(t, order[:3], x.ID, said)
		}
	case "likely":
		for _, x := range c.modes(t, m) {
			assert.GreaterOrEqual(t, now.Modes[x.Index], 0.5, "%s: %s", said, x.ID)
		}
	case "sound", "unsound":
		p, err := strconv.ParseFloat(c.words[0], 64)
		require.NoError(t, err, c.where)
		if c.kind == "sound" {
			assert.GreaterOrEqual(t, now.Sound, p, said)
		} else {
			assert.LessOrEqual(t, now.Sound, p, said)
		}
	case "doubt":
		n, err := strconv.Atoi(c.words[0])
		require.NoError(t, err, c.where)
		doubts, err := trail.Doubts(space, tr)
		require.NoError(t, err, c.where)
		least := slices.MinFunc(doubts, func(a, b trail.Doubt) int {
			if a.P < b.P {
				return -1
			}
			return 1
		})
		assert.Equal(t, n, least.N, "%s\n%v", said, doubts)
		assert.Less(t, least.P, 0.25, "%s\n%v", said, doubts)
	case "origin":
		odds, err := trail.Origin(space, tr)
		require.NoError(t, err, c.where)
		for _, x := range c.modes(t, m) {
			assert.GreaterOrEqual(t, odds.Modes[x.Index], 0.5, "%s: %s\nat intake: %s", said, x.ID, suspects(m, odds))
		}
	}
}

func TestStoriesEndAsARepairerWouldTellThem(t *testing.T) {
	for _, e := range catalog.Models() {
		t.Run(e.ID, func(t *testing.T) {
			m, err := catalog.Load(e.ID)
			require.NoError(t, err)
			space, err := belief.NewSpace(m)
			require.NoError(t, err)
			stories := readStories(t, e.ID)
			countStories(t, space, stories)
			for _, s := range stories {
				t.Run(s.title, func(t *testing.T) {
					require.NotEmpty(t, s.claims, s.where)
					for i := range s.claims {
						if s.claims[i].kind != "never" { // story_plan_test.go
							s.claims[i].holds(t, space, &s)
						}
					}
				})
			}
		})
	}
}

// countStories holds a family's stories to what was asked: forty, eight of them with two
// faults, four with a slip, four with a fault that the work brought in; and to being told whole.
func countStories(t *testing.T, space *belief.Space, stories []story) {
	t.Helper()
	m := space.Model()
	double, slips, brought, claims := 0, 0, 0, 0
	told, titles := map[model.ModeID]bool{}, map[string]bool{}
	for _, s := range stories {
		assert.False(t, titles[s.title], "%s: a title given twice", s.where)
		titles[s.title] = true
		require.NotEmpty(t, s.truth, s.where)
		for _, id := range slices.Concat(s.truth, s.brought) {
			_, ok := m.Mode(id)
			require.True(t, ok, "%s: no mode %s", s.where, id)
			told[id] = true
		}
		require.NotEmpty(t, s.events, s.where)
		first := s.events[0]
		assert.Equal(t, m.Tests[m.Intake].ID, first.Test, "%s: begins with the intake test", s.where)
		assert.NotEqual(t, m.Tests[m.Intake].Outcomes[0].ID, first.Outcome, "%s: and with a unit that fails", s.where)
		if len(s.truth) == 2 {
			double++
		}
		if len(s.brought) > 0 {
			brought++
		}
		for _, n := range s.slips {
			slips++
			require.LessOrEqual(t, n, len(s.events), s.where)
			assert.Equal(t, trail.Result, s.events[n-1].Kind, s.where)
			assert.True(t, slices.ContainsFunc(s.claims, func(c claim) bool {
				return c.kind == "doubt" && c.words[0] == strconv.Itoa(n)
			}), "%s: the doubts must point to the slip", s.where)
		}
		kinds := map[string]bool{}
		for _, c := range s.claims {
			kinds[c.kind] = true
			claims++
			if c.kind == "never" {
				for _, w := range c.words {
					_, test := m.Test(model.TestID(w))
					_, repair := m.Repair(model.RepairID(w))
					assert.True(t, test || repair || w == "sign-off" || w == "write-off", "%s: no step %s", c.where, w)
				}
			}
		}
		assert.True(t, kinds["leads"] || kinds["likely"] || kinds["trio"], "%s: says whom to suspect", s.where)
		assert.True(t, kinds["never"], "%s: says what must not be proposed", s.where)
		tr := s.trail(m, len(s.events))
		assert.NoError(t, tr.Check(m), s.where)
		account, err := trail.Replay(space, tr)
		require.NoError(t, err, s.where)
		assert.Empty(t, account.Warnings, "%s: every step is done in its setup", s.where)
	}
	assert.GreaterOrEqual(t, len(stories), 40)
	assert.GreaterOrEqual(t, double, 8)
	assert.GreaterOrEqual(t, slips, 4)
	assert.GreaterOrEqual(t, brought, 4)
	t.Logf("%d stories, %d claims, %d with two faults, %d with a slip, %d with a fault brought in, %d of %d modes told", len(stories), claims, double, slips, brought, len(told), len(m.Modes))
	for _, mode := range m.Modes {
		if !told[mode.ID] {
			t.Logf("no story of %s", mode.ID)
		}
	}
}
