package runner

import (
	"errors"
	"fmt"
	"time"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/document"
	"pitwise/engine/learn"
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
	var long browser.TooLong
	if errors.As(err, &long) {
		r.Send(state.ImportFailed{File: state.RefusedFile{File: long.Name, Kind: state.FileLarge, Defects: []state.Defect{{Defect: document.Defect{Found: err.Error()}}}}})
		return
	}
	if err != nil {
		r.Send(state.ImportFailed{Detail: err.Error()})
		return
	}
	r.takeInFile(f)
}

// takeInFile takes in what a file holds, behind what was asked before.
func (r *Runner) takeInFile(f browser.File) {
	r.later(func() {
		r.Device.Yield() // until the page says that it reads
		msg, err := r.takeIn([]byte(f.Text))
		clear(r.compared) // a model may have come that summaries were made without
		if errors.Is(err, browser.ErrStopped) {
			r.Send(state.ImportFailed{Stopped: true})
			return
		}
		some := !msg.Same && (msg.ID != "" || msg.Photos+msg.Listed+msg.Lent > 0)
		if err == nil || some && !ofFile(err) {
			r.Send(msg) // leads away, where a list of defects has to stay
		}
		if r.claimed != nil && msg.Bench {
			r.prove(r.claimed)
		}
		r.claimed = nil
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
		in, err := r.newIntake(1)
		if err != nil {
			return state.Imported{}, err
		}
		one, err := in.trail(t, false)
		if err != nil {
			return state.Imported{}, err
		}
		if err := in.store(); err != nil {
			return state.Imported{}, err
		}
		return one, nil
	case learn.CountsFormat:
		return r.takeInCounts(text)
	case backupFormat:
		return r.takeInBackup(text)
	}
	return state.Imported{}, unknownKind(text)
}

// An intake is what a file brings, gathered until all of it is stored in one transaction.
// Nothing is stored before; a person may stop it until the end.
type intake struct {
	r      *Runner
	here   map[string]bool // units that are stored
	models map[string]bool // SHA-256 of those that are stored with this intake already
	adds   []browser.Addition
	away   []string // of units that are here, those that are to be put away
	photos []browser.PhotoRecord
	all    int // steps of the whole, for saying how far it is
	done   int
	told   time.Time
	share  int // of sharesTold, that was told last
}

// newIntake begins one of so many units and photographs.
func (r *Runner) newIntake(n int) (*intake, error) {
	units, err := r.Storage.Units()
	if err != nil {
		return nil, err
	}
	in := &intake{r: r, here: map[string]bool{}, models: map[string]bool{}, all: 2 * n}
	for _, u := range units {
		in.here[u.ID] = true
	}
	return in, nil
}

// While a file is read the page is told how far, and has its turn, after so long or after
// such a share of the whole.
const (
	betweenTold = 40 * time.Millisecond
	sharesTold  = 20
)

// step counts one more unit or photograph that was looked at. It tells the page now and
// then, and whether the person has stopped it.
func (in *intake) step() error {
	in.done++
	if in.tell(in.done) {
		in.r.Device.Yield()
	}
	if in.r.stopped.Load() {
		return browser.ErrStopped
	}
	return nil
}

// tell tells the page how far it is, if it is time to, and reports whether it did.
func (in *intake) tell(done int) bool {
	share := done * sharesTold / max(1, in.all)
	if share > in.share || time.Since(in.told) >= betweenTold {
		in.share = share
		in.r.Send(state.ReadingOn{Done: min(done, in.all), All: in.all})
		in.told = time.Now()
		return true
	}
	return false
}

// trail gathers what is new of a unit.
func (in *intake) trail(t *trail.Trail, away bool) (state.Imported, error) {
	r := in.r
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
	theirs := browser.OfEvents(t.ID, t.Events)
	card := recordOf(m, t, false)
	if !in.here[t.ID] {
		u := browser.OfUnit(t)
		u.Archived = away
		a := browser.Addition{Unit: u, New: true, Events: theirs, Card: card}
		if m != nil && !in.models[m.SHA256] {
			in.models[m.SHA256] = true
			a.Model = browser.OfModel(m)
		}
		in.here[t.ID] = true
		in.adds = append(in.adds, a)
		return state.Imported{ID: t.ID, New: len(t.Events)}, nil
	}
	ours, err := in.stored(t.ID)
	if err != nil {
		return state.Imported{}, err
	}
	for i := range min(len(ours), len(theirs)) {
		if ours[i] != theirs[i] {
			return state.Imported{}, fmt.Errorf("%w: %w", ErrOther, trail.Defects{List: []trail.Defect{{
				Place: fmt.Sprintf("events[%d]", i), Found: "not the event that the unit of this id has here",
			}}})
		}
	}
	if len(theirs) <= len(ours) {
		return state.Imported{ID: t.ID, Same: true}, nil
	}
	if away {
		in.away = append(in.away, t.ID)
	}
	in.adds = append(in.adds, browser.Addition{Unit: browser.UnitRecord{ID: t.ID}, Events: theirs[len(ours):], Card: card})
	return state.Imported{ID: t.ID, New: len(theirs) - len(ours)}, nil
}

// stored returns the events of a unit that is stored, or gathered before.
func (in *intake) stored(id string) ([]browser.EventRecord, error) {
	var gathered []browser.EventRecord
	for _, a := range in.adds {
		if a.Unit.ID == id {
			gathered = append(gathered, a.Events...)
			if a.New {
				return gathered, nil
			}
		}
	}
	t, _, err := in.r.read(id)
	if err != nil {
		return nil, err
	}
	return append(browser.OfEvents(id, t.Events), gathered...), nil
}

// store stores all that was gathered.
func (in *intake) store() error {
	if len(in.adds)+len(in.photos) == 0 {
		return nil
	}
	begun := in.done
	// A transaction ends when nothing is asked of it: the page has its turn while it answers.
	err := in.r.Storage.Add(in.adds, in.photos, func(done int) bool {
		in.tell(begun + done)
		return !in.r.stopped.Load()
	})
	if err != nil {
		return err
	}
	for _, id := range in.away {
		if err := in.r.Storage.Archive(id, true); err != nil {
			return err
		}
	}
	return nil
}
