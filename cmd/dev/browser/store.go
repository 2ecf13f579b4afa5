package browser

import "github.com/chromedp/cdproto/storage"

// Evict clears what the page's origin has stored in databases, as a browser does that
// runs out of room.
func (p *Page) Evict() {
	p.t.Helper()
	ask(p, storage.ClearDataForOrigin, storage.ClearDataForOriginParams{Origin: p.s.Origin(), StorageTypes: "indexeddb"})
}
