package runner

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
	"pitwise/engine/learn"
)

// Backup makes the text of a backup that holds these trails and models, whatever is
// wrong with them.
func Backup(units []string, models map[string]string) (string, error) {
	b := &backup{version: backupPlain, models: models}
	for _, u := range units {
		b.units = append(b.units, []byte(u))
	}
	f, err := b.sealed("bench")
	return f.Text, err
}

// CountsOf are made-up counts of a bench of so many units, all of which had the first fault of a shipped model.
func CountsOf(t testing.TB, id, bench string, units int) learn.Counts {
	t.Helper()
	m, err := catalog.Load(id)
	require.NoError(t, err)
	first := m.Components[0]
	row := make([]float64, 1+first.ModeCount)
	row[1] = float64(units)
	return learn.Counts{Format: learn.CountsFormat, Version: learn.CountsNewest, Model: m.ID, SHA256: m.SHA256,
		Benches: []learn.Bench{{ID: bench, Units: units, Counts: map[string][]float64{"prior/" + string(first.ID): row}}}}
}
