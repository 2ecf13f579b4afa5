package schema

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// A Schema is a parsed schema.
type Schema struct{ compiled *jsonschema.Schema }

// Parse reads a schema of draft 2020-12. What a schema may not hold by the draft's own schema is an
// error, and so is a reference that leads nowhere or out of the file.
func Parse(text []byte) (*Schema, error) {
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return nil, err
	}
	root, ok := v.(map[string]any)
	if !ok || root["$schema"] != "https://json-schema.org/draft/2020-12/schema" {
		return nil, fmt.Errorf("schema: not one of draft 2020-12")
	}
	if key := misspelt(v); key != "" {
		return nil, fmt.Errorf("schema: the keyword %q is not known", key)
	}
	c := jsonschema.NewCompiler()
	c.UseLoader(jsonschema.SchemeURLLoader{}) // nothing is fetched
	if err := c.AddResource("schema.json", v); err != nil {
		return nil, err
	}
	compiled, err := c.Compile("schema.json")
	if err != nil {
		return nil, err
	}
	return &Schema{compiled}, nil
}

// Validate returns nil if the JSON text is valid by the schema. A number beyond float64 is an error.
func (s *Schema) Validate(text []byte) error {
	var v any
	if err := json.Unmarshal(text, &v); err != nil {
		return err
	}
	return s.compiled.Validate(v)
}

// known are the keywords that the schemas of models and trails use. A validator passes over one that
// it does not know, so a misspelt one would check nothing.
var known = map[string]bool{"$schema": true, "$defs": true, "$ref": true, "title": true, "description": true, "format": true, "type": true, "const": true,
	"enum": true, "pattern": true, "minLength": true, "maxLength": true, "minimum": true, "exclusiveMinimum": true, "maximum": true, "minItems": true,
	"maxItems": true, "uniqueItems": true, "items": true, "required": true, "properties": true, "additionalProperties": true, "propertyNames": true,
	"minProperties": true, "oneOf": true, "anyOf": true, "allOf": true, "not": true, "if": true, "then": true, "else": true}

// misspelt returns a keyword that is none of known; "" if there is none.
func misspelt(v any) string {
	switch v := v.(type) {
	case []any:
		for _, each := range v {
			if key := misspelt(each); key != "" {
				return key
			}
		}
	case map[string]any:
		for key, each := range v {
			if !known[key] {
				return key
			}
			found := ""
			switch key {
			case "const", "enum", "required": // values, not schemas
			case "properties", "$defs": // schemas by name
				for _, one := range each.(map[string]any) {
					found = cmp.Or(found, misspelt(one))
				}
			default:
				found = misspelt(each)
			}
			if found != "" {
				return found
			}
		}
	}
	return ""
}
