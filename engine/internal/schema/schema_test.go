package schema

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEachKeywordDoesWhatTheDraftSays(t *testing.T) {
	// source: JSON Schema Validation, draft 2020-12, sections 6.1 to 6.5, and
	// Core, section 10.
	for _, row := range []struct{ schema, yes, no string }{
		{`"type": "integer"`, `1.0`, `1.5`},
		{`"type": "array"`, `[]`, `{}`},
		{`"type": "boolean"`, `true`, `null`},
		{`"const": "a"`, `"a"`, `"b"`},
		{`"enum": ["a", "b"]`, `"b"`, `"c"`},
		{`"pattern": "^a+$"`, `"aa"`, `"ab"`},
		{`"pattern": "^a+$"`, `7`, `""`},
		{`"minLength": 2`, `"éé"`, `"é"`},
		{`"minimum": 1`, `1`, `0.9`},
		{`"exclusiveMinimum": 1`, `1.1`, `1`},
		{`"maximum": 1`, `1`, `1.1`},
		{`"minItems": 1`, `[1]`, `[]`},
		{`"maxItems": 1`, `[1]`, `[1, 2]`},
		{`"items": {"type": "number"}`, `[1, 2]`, `[1, "2"]`},
		{`"required": ["a"]`, `{"a": 1}`, `{"b": 1}`},
		{`"properties": {"a": {"type": "number"}}`, `{"b": "x"}`, `{"a": "x"}`},
		{`"properties": {"a": {}}, "additionalProperties": false`, `{"a": 1}`, `{"b": 1}`},
		{`"additionalProperties": {"type": "number"}`, `{"b": 1}`, `{"b": "x"}`},
		{`"propertyNames": {"pattern": "^a"}`, `{"ab": 1}`, `{"b": 1}`},
		{`"oneOf": [{"required": ["a"]}, {"required": ["b"]}]`, `{"a": 1}`, `{"a": 1, "b": 2}`},
		{`"$ref": "#/$defs/x", "$defs": {"x": {"type": "number"}}`, `1`, `"1"`},
	} {
		s, err := Parse([]byte(`{"$schema": "https://json-schema.org/draft/2020-12/schema", ` + row.schema + `}`))
		require.NoError(t, err)
		assert.NoError(t, s.Validate([]byte(row.yes)), row.schema)
		assert.Error(t, s.Validate([]byte(row.no)), row.schema)
	}
	for _, bad := range []string{`"unevaluatedItems": false`, `"properties": {"a": {"minimun": 1}}`, `"type": "text"`, `"$ref": "#/$defs/none"`} {
		_, err := Parse([]byte(`{"$schema": "https://json-schema.org/draft/2020-12/schema", ` + bad + `}`))
		assert.Error(t, err, bad)
	}
	_, err := Parse([]byte(`{"$schema": "http://json-schema.org/draft-07/schema#"}`))
	assert.Error(t, err)
}
