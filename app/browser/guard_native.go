//go:build !js

package browser

// Guard does nothing outside a browser.
func Guard() {}
