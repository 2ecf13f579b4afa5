package browser

import (
	"context"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"
)

// Before runs the script before any of the page's own, whenever a page is loaded from
// now on.
func (p *Page) Before(script string) {
	p.t.Helper()
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
		return err
	})
}

// Evict clears what the page's origin has stored in databases, as a browser does that
// runs out of room.
func (p *Page) Evict() {
	p.t.Helper()
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, storage.ClearDataForOrigin, storage.ClearDataForOriginParams{Origin: p.s.Origin(), StorageTypes: "indexeddb"})
		return err
	})
}
