package runner

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"
	"unicode/utf8"

	"pitwise/app/browser"
	"pitwise/app/report"
	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/bench"
)

// A filedPhoto is a photograph in a backup.
type filedPhoto struct {
	Unit    string `json:"unit"`
	ID      string `json:"id"`
	At      string `json:"at"`
	Of      int    `json:"of"`
	Caption string `json:"caption"`
	Type    string `json:"type"`
	SHA256  string `json:"sha256"` // of Data
	Data    []byte `json:"data"`
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
		b.Photos = append(b.Photos, filedPhoto{
			Unit: p.Unit, ID: p.ID, At: p.At, Of: p.Of, Caption: p.Caption, Type: string(browser.FormatJPEG),
			SHA256: hex.EncodeToString(sum[:]), Data: []byte(p.Image),
		})
		b.Version = backupVersion
	}
	// Said before the text is made, which takes several times the room.
	size := 0
	for _, p := range b.Photos {
		size += len(p.Data) / 3 * 4
	}
	if size >= FileLimit {
		return errTooMuch
	}
	return nil
}

// withPhotos returns the file of an export with the unit's photographs: in the file of
// trail and model they are themselves, in report and table their captions. The trail
// alone is what it is.
func (r *Runner) withPhotos(e state.TakeOut, f browser.File) (browser.File, error) {
	switch e.Form {
	case state.FormTrailFull:
		b := r.newBackup()
		t := *e.Trail
		t.ModelText = ""
		b.Units = append(b.Units, json.RawMessage(t.Encode()))
		if e.Model != nil {
			b.Models[e.Model.SHA256] = string(e.Model.Text)
		}
		if err := r.file(b, t.ID); err != nil {
			return f, err
		}
		if len(b.Photos) == 0 {
			return f, nil
		}
		return b.sealed("pitwise-" + strings.ToLower(t.ID) + "-photographs")
	case state.FormReport, state.FormBuyer, state.FormSteps:
		photos, err := r.photos(e.Trail.ID)
		if err != nil {
			return f, err
		}
		u := bench.Unit{Model: e.Model, Trail: e.Trail}
		var said []report.Photo
		for _, p := range photos {
			said = append(said, report.Photo{At: p.At, Of: p.Of, Step: u.StepAt(p.Of), Caption: p.Caption})
		}
		if e.Form != state.FormSteps {
			f.Text += report.PhotosMarkdown(words.In(e.Lang), said)
		} else {
			f.Text += report.PhotosSteps(words.In(e.Lang), said)
		}
	}
	return f, nil
}

// photoID is what the id of a photograph looks like.
var photoID = regexp.MustCompile(`^[0-9A-HJKMNP-TV-Z]{26}$`)

// errFiled is wrapped by the reasons for which a photograph of a file is refused.
var errFiled = errors.New("runner: a photograph of the file")

// takePhotos gathers the photographs of a file that are not here, of units that are. A
// stranger's picture is never stored as it came: what is stored is what the browser made
// of its pixels.
func (in *intake) takePhotos(all *state.Imported, photos []filedPhoto, ours map[string]bool) error {
	of := map[string]int{} // how many the units have
	seen := map[string]bool{}
	for _, p := range photos {
		if err := in.step(); err != nil {
			return err
		}
		if seen[p.Unit+"/"+p.ID] {
			continue
		}
		seen[p.Unit+"/"+p.ID] = true
		record, err := in.r.takeInPhoto(p, ours[p.Unit])
		if err == nil && record.ID != "" {
			if _, known := of[p.Unit]; !known {
				ids, failed := in.r.Storage.PhotoIDs(p.Unit)
				if failed != nil {
					return failed
				}
				of[p.Unit] = len(ids)
			}
			if of[p.Unit]++; of[p.Unit] > browser.PhotosMost {
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
func (r *Runner) takeInPhoto(p filedPhoto, ours bool) (browser.PhotoRecord, error) {
	var none browser.PhotoRecord
	sum := sha256.Sum256(p.Data)
	switch _, err := time.Parse(time.RFC3339, p.At); {
	case !ours:
		return none, fmt.Errorf("%w is of no unit in it: %q", errFiled, p.Unit)
	case !photoID.MatchString(p.ID):
		return none, fmt.Errorf("%w has no id", errFiled)
	case err != nil:
		return none, fmt.Errorf("%w: %w", errFiled, err)
	case p.Of < 0:
		return none, fmt.Errorf("%w belongs to step %d", errFiled, p.Of)
	case utf8.RuneCountInString(p.Caption) > browser.CaptionMost:
		return none, fmt.Errorf("%w has a caption of %d letters", errFiled, utf8.RuneCountInString(p.Caption))
	case p.Type != string(browser.FormatJPEG):
		return none, fmt.Errorf("%w: %w: %q", errFiled, browser.ErrFormat, p.Type)
	case len(p.Data) > browser.PhotoBytes:
		return none, fmt.Errorf("%w has %d bytes", errFiled, len(p.Data))
	case hex.EncodeToString(sum[:]) != p.SHA256:
		return none, fmt.Errorf("%w has another checksum", errFiled)
	}
	m, err := browser.MeasureImage(p.Data)
	if err != nil {
		return none, fmt.Errorf("%w: %w", errFiled, err)
	}
	if m.Format != browser.FormatJPEG || max(m.Width, m.Height) > browser.PhotoSide {
		return none, fmt.Errorf("%w: %s of %d by %d pixels", errFiled, m.Format, m.Width, m.Height)
	}
	if _, err := r.Storage.Photo(p.Unit, p.ID); err == nil {
		return none, nil // ours stays as it is
	}
	picture, err := r.Device.Shrink(p.Data)
	if err != nil {
		return none, err
	}
	return browser.PhotoRecord{
		Unit: p.Unit, ID: p.ID, At: p.At, Of: p.Of, Caption: p.Caption,
		Width: picture.Width, Height: picture.Height, Image: picture.Image, Small: picture.Small,
	}.Sealed(), nil
}
