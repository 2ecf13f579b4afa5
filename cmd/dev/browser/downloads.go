package browser

import (
	"context"
	"path/filepath"
	"sync"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/chromedp"
)

// downloads are the files that a browser has saved. A file counts when the browser says
// that it is whole: what lies in the folder before that may be empty.
type downloads struct {
	dir string

	mu    sync.Mutex
	names map[string]string // by the browser's mark of the download
	whole []string          // marks, in order
}

// follow makes the browser save into the folder and tell of each download.
func (d *downloads) follow(ctx context.Context) error {
	if err := chromedp.ListenBrowser(ctx, d.hear); err != nil {
		return err
	}
	_, err := cdp.Call(ctx, chromedp.FromContext(ctx).Browser, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{
		// Under its mark, no file takes the place or the number of another.
		Behavior: browser.SetDownloadBehaviorBehaviorAllowAndName, DownloadPath: d.dir, EventsEnabled: ptr(true),
	})
	return err
}

func (d *downloads) hear(event any) {
	d.mu.Lock()
	defer d.mu.Unlock()
	switch e := event.(type) {
	case *browser.EventDownloadWillBegin:
		if d.names == nil {
			d.names = map[string]string{}
		}
		d.names[e.GUID] = e.SuggestedFilename
	case *browser.EventDownloadProgress:
		if e.State == browser.DownloadProgressStateCompleted {
			d.whole = append(d.whole, e.GUID)
		}
	}
}

// take returns the name that the page gave the oldest download not yet taken and where
// it lies, and whether there is one.
func (d *downloads) take() (name, path string, ok bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if len(d.whole) == 0 {
		return "", "", false
	}
	mark := d.whole[0]
	d.whole = d.whole[1:]
	return d.names[mark], filepath.Join(d.dir, mark), true
}
