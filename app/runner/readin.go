package runner

import (
	"errors"
	"fmt"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/document"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// FileLimit is the largest file read in, bytes: a backup of a long-lived bench.
const FileLimit = 64 << 20

// readIn lets the person choose a file and takes it in.
func (r *Runner) readIn() {
	f, err := r.Device.Pick(FileLimit)
	if errors.Is(err, browser.ErrDismissed) {
		r.Send(state.NothingPicked{})
		return
	}
	if err != nil {
		r.Send(state.ImportFailed{Detail: err.Error()})
		return
	}
	r.later(func() {
		r.Device.Yield() // until the page says that it reads
		msg, err := r.takeIn([]byte(f.Text))
		some := !msg.Same && (msg.ID != "" || msg.Photos+msg.Listed > 0)
		if err == nil || some && !ofFile(err) {
			r.Send(msg) // leads away, where a list of defects has to stay
		}
		if err != nil {
			r.refused(f, err, some)
		}
	})
}

// ErrOther says that a unit with this id is here and its events are not those of
// the file.
var ErrOther = errors.New("runner: another unit has this id")

// takeIn stores what a file holds: a model, a trail, or every trail of a backup. A unit
// that is here already grows by the events that are new; taking the same file in twice
// changes nothing, and an older file loses nothing newer.
func (r *Runner) takeIn(text []byte) (state.Imported, error) {
	switch document.Format(text, limits) {
	case "pitwise/model":
		return r.takeInModel(text)
	case "pitwise/trail":
		t, err := trail.Load(text)
		if err != nil {
			return state.Imported{}, err
		}
		return r.takeInTrail(t)
	case backupFormat:
		return r.takeInBackup(text)
	}
	return state.Imported{}, unknownKind(text)
}

func (r *Runner) takeInTrail(t *trail.Trail) (state.Imported, error) {
	var m *model.Model
	var err error
	if t.ModelText != "" {
		if m, err = model.Load([]byte(t.ModelText)); err != nil {
			return state.Imported{}, &partError{"model_text", err}
		}
		if m.SHA256 != t.Model.SHA256 {
			return state.Imported{}, fmt.Errorf("%w: the model in the file has another checksum", browser.ErrRecord)
		}
	} else if m, err = r.modelOf(t.Model); err != nil {
		m = nil // shown without odds until its model is here
	}
	if m != nil {
		if err := t.Check(m); err != nil {
			return state.Imported{}, err
		}
		r.cache(m)
	}
	t.ModelText = ""
	here, _, err := r.read(t.ID)
	if errors.Is(err, browser.ErrGone) {
		if err := r.store(t, m); err != nil {
			return state.Imported{}, err
		}
		return state.Imported{ID: t.ID, New: len(t.Events)}, nil
	}
	if err != nil {
		return state.Imported{}, err
	}
	theirs, err := browser.OfEvents(t.ID, t.Events)
	if err != nil {
		return state.Imported{}, err
	}
	ours, err := browser.OfEvents(t.ID, here.Events)
	if err != nil {
		return state.Imported{}, err
	}
	for i := range min(len(ours), len(theirs)) {
		if ours[i] != theirs[i] {
			return state.Imported{}, fmt.Errorf("%w: %w", ErrOther, trail.Defects{{
				Place: fmt.Sprintf("events[%d]", i), Found: "not the event that the unit of this id has here",
			}})
		}
	}
	if len(theirs) <= len(ours) {
		return state.Imported{ID: t.ID, Same: true}, nil
	}
	if err := r.Storage.Append(t.ID, theirs[len(ours):]); err != nil {
		return state.Imported{}, err
	}
	return state.Imported{ID: t.ID, New: len(theirs) - len(ours)}, nil
}
