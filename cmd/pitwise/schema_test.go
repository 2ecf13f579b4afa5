package main

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func TestSchemas(t *testing.T) {
	for name, want := range map[string][]byte{"model": model.Schema(), "trail": trail.Schema()} {
		status, out, err := called(t, "", "schema", name)
		require.Zero(t, status, err)
		assert.Equal(t, string(want), out)
		assert.True(t, json.Valid([]byte(out)), "a schema is JSON")
	}
	for _, args := range [][]string{{"schema"}, {"schema", "units"}, {"schema", "model", "trail"}} {
		status, out, err := called(t, "", args...)
		assert.Equal(t, 2, status)
		assert.Empty(t, out)
		assert.Contains(t, err, "pitwise help schema")
	}
}
