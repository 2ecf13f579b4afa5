//go:build !apart

package words

// inside are the texts that a program has in it.
var inside = map[string]func() Texts{"en": english, "de": german, "es": spanish, "ja": japanese}
