package state

import "strings"

// matches reports whether every word of the search stands in one of the texts,
// whatever the case. An empty search matches everything.
func matches(search string, texts ...string) bool {
	all := strings.ToLower(strings.Join(texts, "\n"))
	for _, word := range strings.Fields(strings.ToLower(search)) {
		if !strings.Contains(all, word) {
			return false
		}
	}
	return true
}

// Matches is matches for the views' own lists.
func Matches(search string, texts ...string) bool { return matches(search, texts...) }
