package runner

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"pitwise/app/browser"
	"pitwise/app/report"
	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/document"
)

// A filedPhoto is a photograph in a backup.
type filedPhoto struct {
	unit    string
	id      string
	at      string
	of      int
	caption string
	kind    string // of image, as in image/jpeg
	sha256  string // of image
	image   string // only of one that is written: a read one is decoded when its turn comes
}

var photoShape = &document.Record{Name: "photo", Fields: []document.Field{
	{Name: "unit", Shape: document.Text{}, Required: true},
	{Name: "id", Shape: document.Text{}, Required: true},
	{Name: "at", Shape: document.Text{}, Required: true},
	{Name: "of", Shape: document.Real{Whole: true}, Required: true},
	{Name: "caption", Shape: document.Text{}, Required: true},
	{Name: "type", Shape: document.Text{}, Required: true},
	{Name: "sha256", Shape: document.Text{}, Required: true},
	{Name: "data", Shape: document.Text{}, Required: true},
}}

func (p *filedPhoto) write(w *document.Writer) {
	w.Object(false)
	w.Key("unit").String(p.unit).Key("id").String(p.id).Key("at").String(p.at).Key("of").Int(p.of)
	w.Key("caption").String(p.caption).Key("type").String(p.kind).Key("sha256").String(p.sha256)
	w.Key("data").String(base64.StdEncoding.EncodeToString([]byte(p.image)))
	w.End()
}

// readPhoto reads a photograph of a backup; data is its image in base64. The error is of all that is
// wrong with its form.
func readPhoto(r *document.Report) (p filedPhoto, data document.Value, err error) {
	v, ok := r.Read(limits)
	if ok {
		document.Check(r, v, photoShape)
	}
	if err := r.Err(ErrBackup); err != nil {
		return p, data, err
	}
	text := func(name string) string {
		s, _ := v.Get(name).Text()
		return s
	}
	p = filedPhoto{unit: text("unit"), id: text("id"), at: text("at"), caption: text("caption"), kind: text("type"), sha256: text("sha256")}
	p.of, _ = v.Get("of").Int()
	return p, v.Get("data"), nil
}

var errTooMuch = errors.New("runner: the photographs do not fit into one file")

// file puts the photographs of a unit into a backup.
func (r *Runner) file(b *backup, unit string) error {
	photos, err := r.photos(unit)
	if err != nil {
		return err
	}
	for _, p := range photos {
		sum := sha256.Sum256([]byte(p.Image))
		b.photos = append(b.photos, filedPhoto{
			unit: p.Unit, id: p.ID, at: p.At, of: p.Of, caption: p.Caption, kind: string(browser.FormatJPEG),
			sha256: hex.EncodeToString(sum[:]), image: p.Image,
		})
		b.version = backupAlone
	}
	// Said before the text is made, which takes several times the room.
	size := 0
	for _, p := range b.photos {
		size += base64.StdEncoding.EncodedLen(len(p.image))
	}
	if size >= FileLimit {
		return errTooMuch
	}
	return nil
}

// withPhotos returns the file of an export with the unit's photographs: in the file of
// trail and model and in a buyer's page they are themselves, in report and table their captions. The trail
// alone is what it is.
func (r *Runner) withPhotos(e state.TakeOut, f browser.File) (browser.File, error) {
	switch e.Form {
	case state.FormTrailFull:
		b := r.newBackup()
		b.unit(e.Trail, e.Model)
		if err := r.file(b, e.Trail.ID); err != nil {
			return f, err
		}
		if len(b.photos) == 0 {
			return f, nil
		}
		return b.sealed("pitwise-" + strings.ToLower(e.Trail.ID) + "-photographs")
	case state.FormReport, state.FormBuyer, state.FormSteps:
		photos, err := r.photos(e.Trail.ID)
		if err != nil {
			return f, err
		}
		u := bench.Unit{Model: e.Model, Trail: e.Trail}
		var said []report.Photo
		for _, p := range photos {
			said = append(said, report.Photo{At: p.At, Of: p.Of, Step: u.StepAt(p.Of), Caption: p.Caption, JPEG: p.Image})
		}
		w := words.In(e.Lang)
		switch {
		case e.Form == state.FormSteps:
			f.Text += report.PhotosSteps(w, said)
		case e.Form == state.FormReport:
			f.Text += report.PhotosMarkdown(w, said)
		case e.Way != state.WayCopy:
			f.Text = report.BuyerPage(w, report.Unit{Model: e.Model, Trail: e.Trail}, said)
		}
	}
	return f, nil
}

// errFiled is wrapped by the reasons for which a photograph of a file is refused.
var errFiled = errors.New("runner: a photograph of the file")

// takePhotos gathers the photographs of a file that are not here, of units that are. A
// stranger's picture is never stored as it came: what is stored is what the browser made
// of its pixels.
func (in *intake) takePhotos(all *state.Imported, b *filed, ours map[string]bool) error {
	of := map[string]int{} // how many the units have
	seen := map[string]bool{}
	for i, p := range b.backup.photos {
		if err := in.step(); err != nil {
			return err
		}
		if seen[p.unit+"/"+p.id] {
			continue
		}
		seen[p.unit+"/"+p.id] = true
		record, err := in.r.takeInPhoto(p, b.photos[i], ours[p.unit])
		if err == nil && record.ID != "" {
			if _, known := of[p.unit]; !known {
				ids, failed := in.r.Storage.PhotoIDs(p.unit)
				if failed != nil {
					return failed
				}
				of[p.unit] = len(ids)
			}
			if of[p.unit]++; of[p.unit] > browser.PhotosMost {
				err = browser.ErrMany
			}
		}
		switch {
		case err != nil:
			all.Refused++
		case record.ID != "":
			in.photos = append(in.photos, record)
			all.Photos++
		}
	}
	all.Same = all.Same && all.Photos == 0 && all.Refused == 0
	return nil
}

// takeInPhoto makes the record of a photograph of a file, the zero PhotoRecord of one that
// is here.
func (r *Runner) takeInPhoto(p filedPhoto, data document.Value, ours bool) (browser.PhotoRecord, error) {
	var none browser.PhotoRecord
	coded, _ := data.Text()
	image, err := base64.StdEncoding.DecodeString(coded)
	if err != nil {
		return none, fmt.Errorf("%w: %w", errFiled, err)
	}
	sum := sha256.Sum256(image)
	switch _, err := time.Parse(time.RFC3339, p.at); {
	case !ours:
		return none, fmt.Errorf("%w is of no unit in it: %q", errFiled, p.unit)
	case !state.IsID(p.id):
		return none, fmt.Errorf("%w has no id", errFiled)
	case err != nil:
		return none, fmt.Errorf("%w: %w", errFiled, err)
	case p.of < 0:
		return none, fmt.Errorf("%w belongs to step %d", errFiled, p.of)
	case utf8.RuneCountInString(p.caption) > browser.CaptionMost:
		return none, fmt.Errorf("%w has a caption of %d letters", errFiled, utf8.RuneCountInString(p.caption))
	case p.kind != string(browser.FormatJPEG):
		return none, fmt.Errorf("%w: %w: %q", errFiled, browser.ErrFormat, p.kind)
	case len(image) > browser.PhotoBytes:
		return none, fmt.Errorf("%w has %d bytes", errFiled, len(image))
	case hex.EncodeToString(sum[:]) != p.sha256:
		return none, fmt.Errorf("%w has another checksum", errFiled)
	}
	m, err := browser.MeasureImage(image)
	if err != nil {
		return none, fmt.Errorf("%w: %w", errFiled, err)
	}
	if m.Format != browser.FormatJPEG || max(m.Width, m.Height) > browser.PhotoSide {
		return none, fmt.Errorf("%w: %s of %d by %d pixels", errFiled, m.Format, m.Width, m.Height)
	}
	if _, err := r.Storage.Photo(p.unit, p.id); err == nil {
		return none, nil // ours stays as it is
	}
	picture, err := r.Device.Shrink(image)
	if err != nil {
		return none, err
	}
	return browser.PhotoRecord{
		Unit: p.unit, ID: p.id, At: p.at, Of: p.of, Caption: p.caption,
		Width: picture.Width, Height: picture.Height, Image: picture.Image, Small: picture.Small,
	}.Sealed(), nil
}
