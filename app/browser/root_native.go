//go:build !js

package browser

// Root returns the path that the app's own paths stand under: none outside a
// browser.
func Root() string { return "" }
