// Package flows holds what a person does with the page from end to end, as tests in
// a real Chromium: at 390×844 with touch, with the tag browser.
package flows
