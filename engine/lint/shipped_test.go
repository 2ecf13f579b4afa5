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

func TestTablesOfShippedModelsComeOutClean(t *testing.T) {
	shipped(t, func(t *testing.T, s *belief.Space) {
		left, unused := lint.Apply(s.Model().ID, lint.Rows(s),
			exceptions(t, lint.Twins, lint.Rare, lint.Healthier, lint.Idle, lint.Unmended, lint.Unseen, lint.Beaten))
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
		assert.Less(t, w.Beyond, 0.03, "more faults than the model holds")
		assert.Less(t, w.Brought[0], 0.05, "a unit that fails at intake is hardly sound")
		assert.Greater(t, w.Brought[1], 0.5, "mostly one fault")
		assert.Greater(t, w.Brought[2], 0.15, "often two")
	})
}

// sample returns every fourth story of a family, as trails.
func sample(t *testing.T, s *belief.Space) []*trail.Trail {
	t.Helper()
	names, err := filepath.Glob(filepath.Join("../../testdata/stories", s.Model().ID, "*.txt"))
	require.NoError(t, err)
	var all []*trail.Trail
	n := 0
	for _, name := range names {
		f, err := os.Open(name)
		require.NoError(t, err)
		stories, err := story.Read(f, filepath.Base(name))
		require.NoError(t, err)
		require.NoError(t, f.Close())
		for _, x := range stories {
			if n++; n%4 == 0 {
				tr := x.Trail(s.Model(), len(x.Events))
				tr.ID = x.Where
				all = append(all, tr)
			}
		}
	}
	require.GreaterOrEqual(t, len(all), 10)
	return all
}

func TestOneMoreFaultHardlyMovesAPosterior(t *testing.T) {
	shipped(t, func(t *testing.T, s *belief.Space) {
		all, err := lint.Wider(s, sample(t, s))
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
