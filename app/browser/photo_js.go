//go:build js

package browser

import (
	"fmt"
	"syscall/js"
)

// Chosen implements Camera.
func (p *Page) Chosen(field string) []Chosen {
	input := global("document").Call("getElementById", field)
	if !input.Truthy() || !input.Get("files").Truthy() {
		return nil
	}
	var chosen []Chosen
	for i := range input.Get("files").Length() {
		f := input.Get("files").Index(i)
		chosen = append(chosen, Chosen{Name: textOf(f, "name"), Size: f.Get("size").Int(), Read: func() ([]byte, error) {
			buffer, err := await(f.Call("arrayBuffer"))
			if err != nil {
				return nil, err
			}
			return bytesOf(js.Global().Get("Uint8Array").New(buffer)), nil
		}})
	}
	input.Set("value", "") // so that the same file may be chosen again
	return chosen
}

// bytesOf copies a Uint8Array; anything else is nothing.
func bytesOf(v js.Value) []byte {
	if v.Type() != js.TypeObject || !v.InstanceOf(js.Global().Get("Uint8Array")) {
		return nil
	}
	b := make([]byte, v.Length())
	js.CopyBytesToGo(b, v)
	return b
}

func arrayOf(s string) js.Value {
	a := js.Global().Get("Uint8Array").New(len(s))
	js.CopyBytesToJS(a, []byte(s))
	return a
}

// qualities of JPEG, tried in turn until a photograph is small enough.
var qualities = []float64{0.85, 0.7, 0.5, 0.3}

// Shrink implements Camera.
func (p *Page) Shrink(file []byte) (Picture, error) {
	m, err := MeasureImage(file)
	if err != nil {
		return Picture{}, err
	}
	var promise js.Value
	err = caught(func() {
		raw := js.Global().Get("Blob").New([]any{arrayOf(string(file))}, map[string]any{"type": string(m.Format)})
		promise = js.Global().Call("createImageBitmap", raw, map[string]any{"imageOrientation": "from-image"})
	})
	if err != nil {
		return Picture{}, err
	}
	bitmap, err := await(promise)
	if err != nil {
		return Picture{}, fmt.Errorf("%w: %w", ErrCut, err)
	}
	defer bitmap.Call("close")
	var out Picture
	for side := PhotoSide; ; side = side * 3 / 4 {
		out.Width, out.Height = scaled(bitmap.Get("width").Int(), bitmap.Get("height").Int(), side)
		out.Image, err = redraw(bitmap, out.Width, out.Height, PhotoBytes)
		if err != nil {
			return Picture{}, err
		}
		if len(out.Image) <= PhotoBytes || side < PhotoSide/4 {
			break
		}
	}
	w, h := scaled(out.Width, out.Height, SmallSide)
	if out.Small, err = redraw(bitmap, w, h, SmallBytes); err != nil {
		return Picture{}, err
	}
	return out, out.fits()
}

// redraw draws a picture in another size and codes it as a bare JPEG of at most so many
// bytes, or the least that it comes to.
func redraw(bitmap js.Value, w, h, most int) (text string, err error) {
	canvas := global("document").Call("createElement", "canvas")
	canvas.Set("width", w)
	canvas.Set("height", h)
	// A canvas holds on to its memory until it is collected, or has no size.
	defer func() { canvas.Set("width", 0); canvas.Set("height", 0) }()
	err = caught(func() {
		c := canvas.Call("getContext", "2d")
		c.Set("fillStyle", "#fff") // JPEG has no see-through
		c.Call("fillRect", 0, 0, w, h)
		c.Set("imageSmoothingQuality", "high")
		c.Call("drawImage", bitmap, 0, 0, w, h)
	})
	for _, q := range qualities {
		if err != nil {
			return "", err
		}
		if text, err = coded(canvas, q); err == nil && len(text) <= most {
			return text, nil
		}
	}
	return text, err
}

func coded(canvas js.Value, quality float64) (string, error) {
	came := make(chan js.Value, 1)
	f := js.FuncOf(func(_ js.Value, args []js.Value) any {
		came <- args[0]
		return nil
	})
	defer f.Release()
	if err := caught(func() { canvas.Call("toBlob", f, string(FormatJPEG), quality) }); err != nil {
		return "", err
	}
	made := <-came
	if !made.Truthy() {
		return "", fmt.Errorf("%w: the browser codes no picture", ErrCut)
	}
	buffer, err := await(made.Call("arrayBuffer"))
	if err != nil {
		return "", err
	}
	bare, err := BareJPEG(bytesOf(js.Global().Get("Uint8Array").New(buffer)))
	return string(bare), err
}

// Address implements Camera.
func (p *Page) Address(jpeg string) string {
	raw := js.Global().Get("Blob").New([]any{arrayOf(jpeg)}, map[string]any{"type": string(FormatJPEG)})
	return js.Global().Get("URL").Call("createObjectURL", raw).String()
}

// Forget implements Camera.
func (p *Page) Forget(address string) { js.Global().Get("URL").Call("revokeObjectURL", address) }

func photoOf(v js.Value) PhotoRecord {
	number := func(key string) int {
		if n := v.Get(key); n.Type() == js.TypeNumber {
			return n.Int()
		}
		return 0
	}
	return PhotoRecord{
		Unit: textOf(v, "unit"), ID: textOf(v, "id"), At: textOf(v, "at"), Of: number("of"), Caption: textOf(v, "caption"),
		Width: number("width"), Height: number("height"),
		Image: string(bytesOf(v.Get("image"))), Small: string(bytesOf(v.Get("small"))), Sum: textOf(v, "sum"),
	}
}

func photoTo(p PhotoRecord) map[string]any {
	return map[string]any{
		"unit": p.Unit, "id": p.ID, "at": p.At, "of": p.Of, "caption": p.Caption, "width": p.Width, "height": p.Height,
		"image": arrayOf(p.Image), "small": arrayOf(p.Small), "sum": p.Sum,
	}
}

// photosOf is the key range of one unit's photographs.
func photosOf(unit string) js.Value {
	return js.Global().Get("IDBKeyRange").Call("bound", []any{unit}, []any{unit, []any{}})
}

// PhotoIDs implements Photographs.
func (d *IndexedDB) PhotoIDs(unit string) (ids []string, err error) {
	err = d.read([]any{"photos"}, func(tx js.Value) error {
		keys, err := result(tx.Call("objectStore", "photos").Call("getAllKeys", photosOf(unit)))
		if err != nil {
			return err
		}
		for i := range keys.Length() {
			if id := keys.Index(i).Index(1); id.Type() == js.TypeString {
				ids = append(ids, id.String())
			}
		}
		return nil
	})
	return ids, err
}

// Photo implements Photographs.
func (d *IndexedDB) Photo(unit, id string) (p PhotoRecord, err error) {
	err = d.read([]any{"photos"}, func(tx js.Value) error {
		v, err := result(tx.Call("objectStore", "photos").Call("get", []any{unit, id}))
		if err != nil {
			return err
		}
		if !v.Truthy() {
			return fmt.Errorf("%w: photograph %s of %s", ErrGone, id, unit)
		}
		p = photoOf(v)
		return nil
	})
	return p, err
}

// AddPhoto implements Photographs.
func (d *IndexedDB) AddPhoto(p PhotoRecord) error {
	return d.putPhoto(p.Unit, []any{"units", "photos"}, func(tx js.Value) error { return addPhotoTo(tx, p) })
}

// addPhotoTo adds a photograph in a transaction.
func addPhotoTo(tx js.Value, p PhotoRecord) error {
	there, err := result(tx.Call("objectStore", "units").Call("count", p.Unit))
	if err != nil {
		return err
	}
	if there.Int() == 0 && p.Unit != Intake {
		return fmt.Errorf("%w: unit %s", ErrGone, p.Unit)
	}
	store := tx.Call("objectStore", "photos")
	same, err := result(store.Call("count", []any{p.Unit, p.ID}))
	if err != nil {
		return err
	}
	if same.Int() > 0 {
		return fmt.Errorf("%w: photograph %s", ErrExists, p.ID)
	}
	all, err := result(store.Call("count", photosOf(p.Unit)))
	if err != nil {
		return err
	}
	if all.Int() >= PhotosMost {
		return ErrMany
	}
	store.Call("add", photoTo(p))
	return nil
}

// ChangePhoto implements Photographs.
func (d *IndexedDB) ChangePhoto(p PhotoRecord) error {
	return d.putPhoto(p.Unit, []any{"photos"}, func(tx js.Value) error {
		store := tx.Call("objectStore", "photos")
		there, err := result(store.Call("count", []any{p.Unit, p.ID}))
		if err != nil {
			return err
		}
		if there.Int() == 0 {
			return fmt.Errorf("%w: photograph %s of %s", ErrGone, p.ID, p.Unit)
		}
		store.Call("put", photoTo(p))
		return nil
	})
}

// RemovePhoto implements Photographs.
func (d *IndexedDB) RemovePhoto(unit, id string) error {
	return d.putPhoto(unit, []any{"photos"}, func(tx js.Value) error {
		tx.Call("objectStore", "photos").Call("delete", []any{unit, id})
		return nil
	})
}

func (d *IndexedDB) putPhoto(unit string, tables []any, f func(tx js.Value) error) error {
	err := d.write(tables, f)
	if err == nil {
		d.announce(Change{Kind: PhotosChanged, Unit: unit})
	}
	return err
}
