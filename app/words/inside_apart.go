//go:build apart

package words

// inside are the texts that a program has in it: the page's fetches the other languages, see Take.
var inside = map[string]func() Texts{"en": english}
