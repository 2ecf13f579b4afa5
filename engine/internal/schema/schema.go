package schema

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"
)

// A Schema is a parsed schema.
type Schema struct{ root map[string]any }

// Parse reads a schema and checks that it says which draft it is of.
func Parse(text []byte) (*Schema, error) {
	s := &Schema{}
	if err := json.Unmarshal(text, &s.root); err != nil {
		return nil, err
	}
	if s.root["$schema"] != "https://json-schema.org/draft/2020-12/schema" {
		return nil, fmt.Errorf("schema: $schema is %v", s.root["$schema"])
	}
	return s, nil
}

// Validate returns nil if the JSON text is valid by the schema.
func (s *Schema) Validate(text []byte) error {
	var v any
	if err := json.Unmarshal(text, &v); err != nil {
		return err
	}
	return s.check("", s.root, v)
}

func (s *Schema) check(at string, schema map[string]any, v any) error {
	for _, key := range slices.Sorted(maps.Keys(schema)) {
		want := schema[key]
		if err := s.keyword(at, schema, key, want, v); err != nil {
			return err
		}
	}
	return nil
}

func (s *Schema) keyword(at string, schema map[string]any, key string, want, v any) error {
	fail := func() error { return fmt.Errorf("schema: %s: %s %v, found %.60v", at, key, want, v) }
	object, isObject := v.(map[string]any)
	list, isList := v.([]any)
	text, isText := v.(string)
	number, isNumber := v.(float64)
	switch key {
	case "$schema", "$defs", "title", "description", "format":
	case "$ref":
		name, ok := strings.CutPrefix(want.(string), "#/$defs/")
		target, found := s.root["$defs"].(map[string]any)[name].(map[string]any)
		if !ok || !found {
			return fmt.Errorf("schema: no definition %v", want)
		}
		return s.check(at, target, v)
	case "type":
		ok := false
		switch want {
		case "object":
			ok = isObject
		case "array":
			ok = isList
		case "string":
			ok = isText
		case "number":
			ok = isNumber
		case "integer":
			ok = isNumber && number == math.Trunc(number)
		case "boolean":
			_, ok = v.(bool)
		}
		if !ok {
			return fail()
		}
	case "const":
		if !reflect.DeepEqual(want, v) {
			return fail()
		}
	case "enum":
		if !slices.ContainsFunc(want.([]any), func(e any) bool { return reflect.DeepEqual(e, v) }) {
			return fail()
		}
	case "pattern":
		if isText && !regexp.MustCompile(want.(string)).MatchString(text) {
			return fail()
		}
	case "minLength":
		if isText && float64(utf8.RuneCountInString(text)) < want.(float64) {
			return fail()
		}
	case "minimum":
		if isNumber && number < want.(float64) {
			return fail()
		}
	case "exclusiveMinimum":
		if isNumber && number <= want.(float64) {
			return fail()
		}
	case "maximum":
		if isNumber && number > want.(float64) {
			return fail()
		}
	case "minItems":
		if isList && float64(len(list)) < want.(float64) {
			return fail()
		}
	case "maxItems":
		if isList && float64(len(list)) > want.(float64) {
			return fail()
		}
	case "items":
		for i, each := range list {
			if err := s.check(fmt.Sprintf("%s[%d]", at, i), want.(map[string]any), each); err != nil {
				return err
			}
		}
	case "required":
		for _, name := range want.([]any) {
			if _, ok := object[name.(string)]; isObject && !ok {
				return fmt.Errorf("schema: %s.%s is missing", at, name)
			}
		}
	case "properties":
		for _, name := range slices.Sorted(maps.Keys(object)) {
			switch sub := want.(map[string]any)[name].(type) {
			case map[string]any:
				if err := s.check(at+"."+name, sub, object[name]); err != nil {
					return err
				}
			case bool:
				if !sub {
					return fmt.Errorf("schema: %s.%s may not be there", at, name)
				}
			}
		}
	case "additionalProperties":
		known, _ := schema["properties"].(map[string]any)
		for _, name := range slices.Sorted(maps.Keys(object)) {
			if _, ok := known[name]; ok {
				continue
			}
			if want == false {
				return fmt.Errorf("schema: %s.%s is not known", at, name)
			}
			if err := s.check(at+"."+name, want.(map[string]any), object[name]); err != nil {
				return err
			}
		}
	case "propertyNames":
		for _, name := range slices.Sorted(maps.Keys(object)) {
			if err := s.check(at+"."+name, want.(map[string]any), name); err != nil {
				return err
			}
		}
	case "if":
		then := "then"
		if s.check(at, want.(map[string]any), v) != nil {
			then = "else"
		}
		if sub, ok := schema[then].(map[string]any); ok {
			return s.check(at, sub, v)
		}
	case "then", "else": // with "if"
	case "oneOf":
		valid := 0
		var first error
		for _, sub := range want.([]any) {
			err := s.check(at, sub.(map[string]any), v)
			if err == nil {
				valid++
			} else if first == nil {
				first = err
			}
		}
		if valid != 1 {
			return fmt.Errorf("schema: %s: %d of oneOf are valid (%w)", at, valid, first)
		}
	default:
		return fmt.Errorf("schema: the keyword %q is not known here", key)
	}
	return nil
}
