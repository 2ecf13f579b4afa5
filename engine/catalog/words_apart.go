//go:build apart

package catalog

import "embed"

var wordFiles embed.FS // none
