// Package schema checks JSON values against JSON Schemas (draft 2020-12), for tests
// only: the keywords that the schemas of models and trails use, and no others. A
// keyword that it does not know is an error, so that no test passes by not looking.
package schema
