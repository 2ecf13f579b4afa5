//go:build !apart

package catalog

import "embed"

// wordFiles are texts in other languages, one file a language and part, keyed as model.Reworded
// keys blocks, with the field behind: see the doc of this package. A program built with the tag
// apart has none of them in it, and takes those that it wants.
//
//go:embed words/*/*.json
var wordFiles embed.FS
