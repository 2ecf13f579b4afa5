//go:build js

package browser

import (
	"fmt"
	"syscall/js"
	"time"
)

// betweenLooks leaves the page time to draw and to take taps.
const betweenLooks = 120 * time.Millisecond

// detector is the browser's own reader of codes, not truthy if it has none for QR codes.
// Source: W3C Community Group, Accelerated Shape Detection in Images.
func detector() js.Value {
	class := global("BarcodeDetector")
	if !class.Truthy() {
		return js.Undefined()
	}
	formats, err := await(class.Call("getSupportedFormats"))
	if err != nil || !formats.Call("includes", "qr_code").Bool() {
		return js.Undefined()
	}
	return class.New(map[string]any{"formats": []any{"qr_code"}})
}

// ReadsCodes implements CodeReader.
func (p *Page) ReadsCodes() bool { return detector().Truthy() }

// detect returns the texts of the codes in a picture or a video.
func detect(d, picture js.Value) ([]string, error) {
	found, err := await(d.Call("detect", picture))
	if err != nil {
		return nil, err
	}
	var texts []string
	for i := range found.Length() {
		texts = append(texts, textOf(found.Index(i), "rawValue"))
	}
	return texts, nil
}

// CodesIn implements CodeReader.
func (p *Page) CodesIn(file []byte) ([]string, error) {
	m, err := MeasureImage(file)
	if err != nil {
		return nil, err
	}
	raw := js.Global().Get("Blob").New([]any{arrayOf(string(file))}, map[string]any{"type": string(m.Format)})
	bitmap, err := await(js.Global().Call("createImageBitmap", raw))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrCut, err)
	}
	defer bitmap.Call("close")
	return detect(detector(), bitmap)
}

// Look implements CodeReader.
func (p *Page) Look(found func(texts []string) bool) error {
	devices := global("navigator", "mediaDevices")
	if !devices.Truthy() { // not over plain HTTP
		return ErrNoCamera
	}
	stream, err := await(devices.Call("getUserMedia", map[string]any{"video": map[string]any{"facingMode": "environment"}}))
	if err != nil {
		return fmt.Errorf("%w: %w", ErrNoCamera, err)
	}
	defer func() {
		tracks := stream.Call("getTracks")
		for i := range tracks.Length() {
			tracks.Index(i).Call("stop")
		}
	}()
	d := detector()
	for {
		var texts []string
		// The page may draw its element anew, or not yet have it.
		if view := global("document").Call("getElementById", CodeView); view.Truthy() {
			if view.Get("srcObject").IsNull() {
				view.Set("srcObject", stream)
				if _, err := await(view.Call("play")); err != nil {
					return fmt.Errorf("%w: %w", ErrNoCamera, err)
				}
			}
			texts, _ = detect(d, view) // a picture that is not whole yet has no codes
		}
		if !found(texts) {
			return nil
		}
		time.Sleep(betweenLooks)
	}
}
