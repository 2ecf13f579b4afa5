package lint_test

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/internal/story"
	"pitwise/engine/lint"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// shipped runs a test on every shipped model.
func shipped(t *testing.T, f func(t *testing.T, s *belief.Space)) {
	t.Helper()
	all := catalog.Models()
	require.NotEmpty(t, all)
	for _, e := range all {
		t.Run(e.ID, func(t *testing.T) {
			m, err := catalog.Load(e.ID)
			require.NoError(t, err)
			s, err := belief.NewSpace(m)
			require.NoError(t, err)
			f(t, s)
		})
	}
}

// exceptions returns what the catalog lets pass, of some kinds.
func exceptions(t *testing.T, kinds ...lint.Kind) []lint.Exception {
	t.Helper()
	all, err := lint.ReadExceptions(catalog.Exceptions())
	require.NoError(t, err)
	return slices.DeleteFunc(all, func(e lint.Exception) bool { return !slices.Contains(kinds, e.Kind) })
}

func TestEveryExceptionNamesWhatThereIs(t *testing.T) {
	all, err := lint.ReadExceptions(catalog.Exceptions())
	require.NoError(t, err)
	for _, e := range all {
		m, err := catalog.Load(e.Model)
		require.NoError(t, err)
		for _, id := range e.Of {
			_, mode := m.Mode(model.ModeID(id))
			_, test := m.Test(model.TestID(id))
			_, repair := m.Repair(model.RepairID(id))
			assert.True(t, mode || test || repair, "%s: no %s", e.Model, id)
		}
		assert.Regexp(t, `\.$`, e.Why)
	}
}

func TestTablesOfShippedModelsComeOutClean(t *testing.T) {
	shipped(t, func(t *testing.T, s *belief.Space) {
		left, unused := lint.Apply(s.Model().ID, append(lint.Rows(s), lint.Unasked(s.Model())...),
			exceptions(t, lint.Blind, lint.Steep, lint.Twins, lint.Rare, lint.Healthier, lint.Idle, lint.Unmended, lint.Unseen, lint.Renewing, lint.Beaten))
		assert.Empty(t, left)
		assert.Empty(t, unused, "exceptions that explain nothing")
	})
}

func TestShippedModelsLeaveLittleOut(t *testing.T) {
	shipped(t, func(t *testing.T, s *belief.Space) {
		w, err := lint.Weigh(s)
		require.NoError(t, err)
		t.Logf("hypotheses %d, priors %.3f, faults before %.3f, at intake %.3f, beyond most_faults %.4f, fails at intake %.3f",
			w.Hypotheses, w.Priors, w.Faults, w.Brought, w.Beyond, w.Fails)
		assert.Less(t, w.Beyond, 0.05, "more faults than the model holds")
		assert.Less(t, w.Brought[0], 0.25, "few units come in sound, whatever their owners say")
		assert.Greater(t, w.Brought[0], 0.05, "and some do")
		assert.Greater(t, w.Brought[1], 0.35, "mostly one fault")
		assert.Greater(t, w.Brought[2], 0.15, "often two")
	})
}

// stories returns the stories of a family, as trails.
func stories(t *testing.T, s *belief.Space) []*trail.Trail {
	t.Helper()
	names, err := filepath.Glob(filepath.Join("../../testdata/stories", s.Model().ID, "*.txt"))
	require.NoError(t, err)
	var all []*trail.Trail
	for _, name := range names {
		f, err := os.Open(name)
		require.NoError(t, err)
		stories, err := story.Read(f, filepath.Base(name))
		require.NoError(t, err)
		require.NoError(t, f.Close())
		for _, x := range stories {
			tr := x.Trail(s.Model(), len(x.Events))
			tr.ID = x.Where
			all = append(all, tr)
		}
	}
	require.GreaterOrEqual(t, len(all), 40)
	return all
}

func TestOneMoreFaultHardlyMovesAPosterior(t *testing.T) {
	shipped(t, func(t *testing.T, s *belief.Space) {
		var sample []*trail.Trail // every fourth
		for i, tr := range stories(t, s) {
			if i%4 == 3 {
				sample = append(sample, tr)
			}
		}
		all, err := lint.Wider(s, sample)
		require.NoError(t, err)
		sum, most := 0.0, lint.Shift{}
		for _, x := range all {
			sum += x.By()
			if x.By() > most.By() {
				most = x
			}
		}
		t.Logf("%d trails: on the mean %.4f, most %.4f: %+v", len(all), sum/float64(len(all)), most.By(), most)
		assert.Less(t, most.By(), 0.15)
		assert.Less(t, sum/float64(len(all)), 0.05)
	})
}
