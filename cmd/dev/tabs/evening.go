//go:build js

package main

import (
	"encoding/json"
	"syscall/js"

	"pitwise/app/browser"
	"pitwise/app/runner/sweep"
)

// evening plays the evening of package sweep on the browser's own storage, of which
// window.failing lets one request fail: how many requests it made, which one failed, and
// what was lost. before is how many events of each unit are stored, as JSON.
func evening(fail, before string) any {
	failing := js.Global().Get("failing")
	var opened []*browser.IndexedDB
	b := sweep.Bench{
		Storage: func() browser.Storage {
			opened = append(opened, browser.NewIndexedDB())
			return opened[len(opened)-1]
		},
		Device: browser.NewPage(),
		Mended: func() { failing.Invoke("") },
	}
	if err := json.Unmarshal([]byte(before), &b.Before); err != nil {
		return err.Error()
	}
	failing.Invoke(fail)
	lost := sweep.Evening(b)
	for _, d := range opened {
		d.Close()
	}
	text, _ := json.Marshal(struct {
		Requests int
		Failed   string
		Lost     []string
	}{js.Global().Get("requests").Int(), js.Global().Get("failed").String(), lost})
	return string(text)
}
