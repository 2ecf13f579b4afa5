package runner

import (
	"errors"
	"strings"
	"unicode"

	"pitwise/app/browser"
	"pitwise/app/report"
	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/trail"
)

// takeOut makes the text of an export and hands it over.
func (r *Runner) takeOut(e state.TakeOut) {
	f := File(e)
	var err error
	if e.Photos {
		f, err = r.withPhotos(e, f)
	}
	if err == nil {
		err = r.hand(f, e.Way)
	}
	r.handed(e.Way, err)
}

// handed tells the person how handing a file over went.
func (r *Runner) handed(way state.Way, err error) { r.told(state.Taken{Way: way}, err) }

// told is handed for any answer, and reports whether the file was handed over.
func (r *Runner) told(answer state.Taken, err error) bool {
	switch {
	case errors.Is(err, browser.ErrDismissed):
	case errors.Is(err, errTooMuch):
		r.Send(state.TakeFailed{Trouble: state.TroubleLarge})
	case err != nil:
		r.Send(state.TakeFailed{Detail: err.Error()})
	default:
		answer.At = r.stamp()
		r.Send(answer)
		return true
	}
	return false
}

// hand gives a file to the person.
func (r *Runner) hand(f browser.File, way state.Way) error {
	switch way {
	case state.WayShare:
		return r.Device.Share(f)
	case state.WayCopy:
		return r.Device.Copy(f.Text)
	}
	return r.Device.Save(f)
}

// File makes the file of an export.
func File(e state.TakeOut) browser.File {
	name := fileName(e.Trail)
	w := words.In(e.Lang)
	switch e.Form {
	case state.FormTrailFull:
		t := *e.Trail
		if e.Model != nil {
			t.ModelText = string(e.Model.Text)
		}
		return browser.File{Name: name + "-with-model.json", Type: "application/json", Text: string(t.Encode())}
	case state.FormBuyer:
		u := report.Unit{Model: e.Model, Trail: e.Trail}
		if e.Way == state.WayCopy {
			return browser.File{Text: report.Buyer(w, u)}
		}
		return browser.File{Name: name + "-buyer.html", Type: "text/html", Text: report.BuyerPage(w, u, nil)}
	case state.FormReport:
		return browser.File{Name: name + "-report.md", Type: "text/markdown", Text: report.Markdown(w, report.Unit{Model: e.Model, Trail: e.Trail, Account: e.Account, Origin: e.Origin})}
	case state.FormSteps:
		return browser.File{Name: name + "-steps.csv", Type: "text/csv", Text: report.Steps(w, e.Model, e.Trail, e.Account)}
	case state.FormDamaged:
		return browser.File{Name: name + "-damaged.txt", Type: "text/plain", Text: strings.Join(e.Damaged, "\n") + "\n"}
	}
	t := *e.Trail
	t.ModelText = ""
	return browser.File{Name: name + "-trail.json", Type: "application/json", Text: string(t.Encode())}
}

// nameMost is how much of a label a file's name has, in letters.
const nameMost = 40

// fileName names what is exported of a unit by its label and the day it was begun, so that a person
// finds it again. What tells units of one label and day
// apart is their id's end.
func fileName(t *trail.Trail) string {
	parts := []string{"pitwise"}
	if label := slug(t.Unit.Label); label != "" {
		parts = append(parts, label)
	}
	if day, _, ok := strings.Cut(t.Created, "T"); ok {
		parts = append(parts, day)
	}
	id := strings.ToLower(t.ID)
	return strings.Join(append(parts, id[max(0, len(id)-4):]), "-")
}

// slug is a text as a part of a file's name: letters and digits of any script, the rest as a hyphen.
func slug(text string) string {
	var b strings.Builder
	n, gap := 0, false
	for _, r := range strings.ToLower(text) {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			gap = n > 0
			continue
		}
		if n == nameMost {
			break
		}
		if gap {
			b.WriteByte('-')
			gap = false
		}
		b.WriteRune(r)
		n++
	}
	return b.String()
}
