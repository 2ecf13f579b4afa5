package model

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/schema"
)

// The committed schema is renewed by PITWISE_RENEW=1 go test ./engine/...
func TestTheCommittedSchemaIsTheOneThatTheDecoderFollows(t *testing.T) {
	const name = "model.schema.json"
	if os.Getenv("PITWISE_RENEW") != "" {
		require.NoError(t, os.WriteFile(name, Schema(), 0o644))
	}
	committed, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, string(Schema()), string(committed))
}

func TestTheSchemaAgreesWithTheLoader(t *testing.T) {
	s, err := schema.Parse(Schema())
	require.NoError(t, err)
	for _, row := range []struct {
		name    string
		changes []change
		schema  bool // valid by the schema
		load    bool // valid by Load
	}{
		{"the example", nil, true, true},
		{"an unknown field", []change{{`"most_faults": 2`, `"most_faults": 2, "author": "me"`}}, false, false},
		{"an unknown field deep down", []change{{`{"id": "boots", "title": "Boots"}`, `{"id": "boots", "titel": "Boots"}`}}, false, false},
		{"a field missing", []change{{`"steadiness": 3, `, ``}}, false, false},
		{"another format", []change{{`"pitwise/model"`, `"pitwise/trail"`}}, false, false},
		{"another version", []change{{`"version": 1`, `"version": 3`}}, false, false},
		{"a version written at length", []change{{`"version": 1`, `"version": 1.0`}}, true, true},
		{"a bad id", []change{{`"id": "rail"`, `"id": "Rail"`}}, false, false},
		{"a bad key of a source", []change{{`"disc-std"`, `"disc std"`}}, false, false},
		{"a bad mode", []change{{`"lens.dirty": [0.30`, `"lens": [0.30`}}, false, false},
		{"a source of an unknown kind", []change{{`"kind": "published"`, `"kind": "hearsay"`}}, false, false},
		{"a prior of 0", []change{{`"prior": 0.20`, `"prior": 0`}}, false, false},
		{"an entry of 0", []change{{`[0.05, 0.05, 0.90]`, `[0, 0.1, 0.90]`}}, false, false},
		{"a fix above 1", []change{{`"fixes": {"lens.dirty": 0.9}`, `"fixes": {"lens.dirty": 1.1}`}}, false, false},
		{"a cost below 0", []change{{`"minutes": 4`, `"minutes": -4`}}, false, false},
		{"half a fault held", []change{{`"most_faults": 2`, `"most_faults": 1.5`}}, false, false},
		{"too many faults held", []change{{`"most_faults": 2`, `"most_faults": 7`}}, false, false},
		{"text for a flag", []change{{`"intake": true`, `"intake": "true"`}}, false, false},
		{"a told test", []change{{`"version": 1`, `"version": 2`}, {intakeMark, toldIntake}, {railHead, `"proof": true, ` + railHead}}, true, true},
		{"a told test with minutes", []change{{`"version": 1`, `"version": 2`}, {intakeMark, toldIntake + ` "minutes": 0,`}, {railHead, `"proof": true, ` + railHead}}, false, false},
		{"a test that says it is not told", []change{{`"version": 1`, `"version": 2`}, {`"intake": true,`, `"intake": true, "told": false,`}}, true, true},
		{"a test that is not told, without minutes", []change{{`"version": 1`, `"version": 2`}, {`"intake": true,
     "at": "closed", "minutes": 2, `, `"intake": true, "told": false, "at": "closed", `}}, false, false},
		{"a repair after nothing", []change{{`"version": 1`, `"version": 2`}, {lastRepair, `"only_after": {"any": []}}`}}, false, false},
		{"texts anywhere", []change{{`"unit": "V"`, `"unit": "V", "why": "because", "steps": ["a"]`}}, true, true},
		// What no schema can say.
		{"a row that does not sum to 1", []change{{bootHealthy, `"healthy": [0.95, 0.02, 0.01]`}}, true, false},
		{"a reference to nothing", []change{{`"at": "closed"`, `"at": "shut"`}}, true, false},
		{"version 1 with what version 2 brought", []change{{`"most_faults": 2`, `"most_faults": 2, "currency": "EUR"`}}, true, false},
		{"a told intake and no proof", []change{{`"version": 1`, `"version": 2`}, {intakeMark, toldIntake}}, true, false},
		{"a gap", []change{{`"to": 4.75}`, `"to": 4.5}`}}, true, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			text := edited(t, row.changes...)
			err := s.Validate(text)
			assert.Equal(t, row.schema, err == nil, "schema: %v", err)
			_, err = Load(text)
			assert.Equal(t, row.load, err == nil, "load: %v", err)
		})
	}
}
