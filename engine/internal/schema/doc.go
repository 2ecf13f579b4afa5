// Package schema checks JSON values against JSON Schemas (draft 2020-12) with a general validator,
// santhosh-tekuri/jsonschema, for tests only. A keyword that the schemas of models and trails do not
// use is an error, so that no test passes by not looking.
package schema
