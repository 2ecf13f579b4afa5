//go:build js

package browser

// Shrink implements Camera. The decoders of the standard library stay out of the page's
// program: the page has the browser's.
func (s *Still) Shrink(file []byte) (Picture, error) { return Picture{}, ErrFormat }
