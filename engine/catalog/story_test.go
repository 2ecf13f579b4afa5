package catalog_test

import (
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
	"pitwise/engine/internal/story"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

const storiesDir = "../../testdata/stories"

// spaces of the shipped models are alike for every test.
var spaces = map[string]*belief.Space{}

func spaceOf(t *testing.T, id string) *belief.Space {
	t.Helper()
	if spaces[id] == nil {
		m, err := catalog.Load(id)
		require.NoError(t, err)
		space, err := belief.NewSpace(m)
		require.NoError(t, err)
		spaces[id] = space
	}
	return spaces[id]
}

// readStories reads the stories of a family.
func readStories(t *testing.T, family string) []story.Story {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(storiesDir, family, "*.txt"))
	require.NoError(t, err)
	require.NotEmpty(t, names)
	slices.Sort(names)
	var all []story.Story
	for _, name := range names {
		f, err := os.Open(name)
		require.NoError(t, err)
		stories, err := story.Read(f, filepath.Base(name))
		require.NoError(t, err)
		require.NoError(t, f.Close())
		all = append(all, stories...)
	}
	return all
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

func modesOf(t *testing.T, m *model.Model, c *story.Claim) []*model.Mode {
	t.Helper()
	var all []*model.Mode
	for _, w := range c.Words {
		mode, ok := m.Mode(model.ModeID(w))
		require.True(t, ok, "%s: no mode %s", c.Where, w)
		all = append(all, mode)
	}
	return all
}

// holds checks one claim of a story.
func holds(t *testing.T, space *belief.Space, s *story.Story, c *story.Claim, accounts map[int]*trail.Account) {
	t.Helper()
	m := space.Model()
	tr := s.Trail(m, c.After)
	account := accounts[c.After]
	if account == nil {
		var err error
		account, err = trail.Replay(space, tr)
		require.NoError(t, err, c.Where)
		accounts[c.After] = account
	}
	now := account.Lines[len(account.Lines)-1].Odds
	order := leading(m, now.Modes)
	said := c.Where + ": " + c.Kind + " " + strings.Join(c.Words, " ") + "\n" + suspects(m, now)
	switch c.Kind {
	case "leads":
		modesOf(t, m, c)
		assert.Contains(t, c.Words, string(order[0]), said)
	case "trio":
		for _, x := range modesOf(t, m, c) {
			assert.Contains(t, order[:3], x.ID, said)
		}
	case "likely":
		for _, x := range modesOf(t, m, c) {
			assert.GreaterOrEqual(t, now.Modes[x.Index], 0.5, "%s: %s", said, x.ID)
		}
	case "sound", "unsound":
		p, err := strconv.ParseFloat(c.Words[0], 64)
		require.NoError(t, err, c.Where)
		if c.Kind == "sound" {
			assert.GreaterOrEqual(t, now.Sound, p, said)
		} else {
			assert.LessOrEqual(t, now.Sound, p, said)
		}
	case "doubt":
		n, err := strconv.Atoi(c.Words[0])
		require.NoError(t, err, c.Where)
		doubts, err := trail.Doubts(space, tr)
		require.NoError(t, err, c.Where)
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
		require.NoError(t, err, c.Where)
		for _, x := range modesOf(t, m, c) {
			assert.GreaterOrEqual(t, odds.Modes[x.Index], 0.5, "%s: %s\nat intake: %s", said, x.ID, suspects(m, odds))
		}
	}
}

func TestStoriesEndAsARepairerWouldTellThem(t *testing.T) {
	for _, e := range catalog.Models() {
		t.Run(e.ID, func(t *testing.T) {
			space := spaceOf(t, e.ID)
			stories := readStories(t, e.ID)
			countStories(t, space, stories)
			for i, s := range stories {
				if testing.Short() && i%3 > 0 {
					continue // as WebAssembly, where the odds are the same to the bit
				}
				t.Run(s.Title, func(t *testing.T) {
					require.NotEmpty(t, s.Claims, s.Where)
					accounts := map[int]*trail.Account{} // by how many events are told
					for i := range s.Claims {
						if s.Claims[i].Kind != "never" { // story_plan_test.go
							holds(t, space, &s, &s.Claims[i], accounts)
						}
					}
				})
			}
		})
	}
}

// countStories holds a family's stories to what was asked: forty, eight of them with two
// faults, four with a slip, four with a fault that the work brought in; and to being told whole.
func countStories(t *testing.T, space *belief.Space, stories []story.Story) {
	t.Helper()
	m := space.Model()
	double, slips, brought, claims := 0, 0, 0, 0
	told, titles := map[model.ModeID]bool{}, map[string]bool{}
	for _, s := range stories {
		assert.False(t, titles[s.Title], "%s: a title given twice", s.Where)
		titles[s.Title] = true
		require.NotEmpty(t, s.Truth, s.Where)
		for _, id := range slices.Concat(s.Truth, s.Brought) {
			_, ok := m.Mode(id)
			require.True(t, ok, "%s: no mode %s", s.Where, id)
			told[id] = true
		}
		require.NotEmpty(t, s.Events, s.Where)
		first := s.Events[0]
		assert.Equal(t, m.Tests[m.Intake].ID, first.Test, "%s: begins with the intake test", s.Where)
		assert.NotEqual(t, m.Tests[m.Intake].Outcomes[0].ID, first.Outcome, "%s: and with a unit that fails", s.Where)
		if len(s.Truth) == 2 {
			double++
		}
		if len(s.Brought) > 0 {
			brought++
		}
		for _, n := range s.Slips {
			slips++
			require.LessOrEqual(t, n, len(s.Events), s.Where)
			assert.Equal(t, trail.Result, s.Events[n-1].Kind, s.Where)
			assert.True(t, slices.ContainsFunc(s.Claims, func(c story.Claim) bool {
				return c.Kind == "doubt" && c.Words[0] == strconv.Itoa(n)
			}), "%s: the doubts must point to the slip", s.Where)
		}
		kinds := map[string]bool{}
		for _, c := range s.Claims {
			kinds[c.Kind] = true
			claims++
			if c.Kind == "never" {
				for _, w := range c.Words {
					_, test := m.Test(model.TestID(w))
					_, repair := m.Repair(model.RepairID(w))
					assert.True(t, test || repair || w == "sign-off" || w == "write-off", "%s: no step %s", c.Where, w)
				}
			}
		}
		assert.True(t, kinds["leads"] || kinds["likely"] || kinds["trio"], "%s: says whom to suspect", s.Where)
		assert.True(t, kinds["never"], "%s: says what must not be proposed", s.Where)
		tr := s.Trail(m, len(s.Events))
		assert.NoError(t, tr.Check(m), s.Where)
		account, err := trail.Replay(space, tr)
		require.NoError(t, err, s.Where)
		assert.Empty(t, account.Warnings, "%s: every step is done in its setup", s.Where)
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
