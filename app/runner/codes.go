package runner

import (
	"errors"
	"sync"
	"sync/atomic"
	"time"

	"rsc.io/qr"

	"pitwise/app/browser"
	"pitwise/app/parcel"
	"pitwise/app/state"
	"pitwise/engine/trail"
)

// betweenCodes is how long a code stands before the next one comes by itself: a camera needs some
// pictures of it.
const betweenCodes = 1200 * time.Millisecond

// makeCodes makes the codes of a unit.
func (r *Runner) makeCodes(e state.MakeCodes) {
	codes, err := Codes(e.Trail)
	if err != nil {
		codes = nil // it is too long
	}
	r.Send(state.CodesMade{ID: e.Trail.ID, Codes: codes})
}

// Codes returns the QR codes of a unit. The text of its model is left out: it is many times as long.
// The error is parcel.ErrLarge.
func Codes(t *trail.Trail) ([]state.Code, error) {
	plain := *t
	plain.ModelText = ""
	parts, err := parcel.Split(plain.Encode())
	if err != nil {
		return nil, err
	}
	var codes []state.Code
	for _, part := range parts {
		code, err := qr.Encode(part, qr.M)
		if err != nil {
			return nil, err
		}
		codes = append(codes, codeOf(code))
	}
	return codes, nil
}

func codeOf(q *qr.Code) state.Code {
	c := state.Code{Side: q.Size, Dark: make([]bool, 0, q.Size*q.Size)}
	for y := range q.Size {
		for x := range q.Size {
			c.Dark = append(c.Dark, q.Black(x, y))
		}
	}
	return c
}

// A codeReader gathers the codes of a unit.
type codeReader struct {
	mu    sync.Mutex
	read  parcel.Collector
	turn  atomic.Int64 // of the latest looking: an older one ends
	awake atomic.Bool
}

// watchCodes looks by the camera until all codes are read, or until another turn began.
func (r *Runner) watchCodes(turn int64) {
	r.stayAwake(&r.codes.awake, true)
	defer func() {
		if r.codes.turn.Load() == turn {
			r.stayAwake(&r.codes.awake, false)
		}
	}()
	last := ""
	err := r.Device.Look(func(texts []string) bool {
		if r.codes.turn.Load() != turn {
			return false
		}
		for _, text := range texts {
			if text == last {
				continue // it still stands there
			}
			last = text
			if r.readCode(text, "") {
				return false
			}
		}
		return true
	})
	if err != nil && r.codes.turn.Load() == turn {
		r.sayCodes(state.ReaderBlind, "")
	}
}

func (r *Runner) stopCodes() {
	r.codes.turn.Add(1)
	r.stayAwake(&r.codes.awake, false)
}

// readCodes looks for codes in the pictures that were chosen.
func (r *Runner) readCodes() {
	for _, f := range r.Device.Chosen(browser.CodeField) {
		var texts []string
		if f.Size <= browser.PhotoFileBytes {
			if body, err := f.Read(); err == nil {
				texts, _ = r.Device.CodesIn(body)
			}
		}
		if len(texts) == 0 {
			r.sayCodes(state.ReaderEmpty, f.Name)
		}
		for _, text := range texts {
			if r.readCode(text, f.Name) {
				return
			}
		}
	}
}

// readCode takes one code, and the unit in once all are here, which it reports.
func (r *Runner) readCode(text, name string) (whole bool) {
	r.codes.mu.Lock()
	err := r.codes.read.Add(text)
	missing, of := r.codes.read.Missing()
	var all []byte
	if err == nil && len(missing) == 0 && of > 0 {
		all, err = r.codes.read.Text()
		r.codes.read = parcel.Collector{}
		whole = err == nil
	}
	r.codes.mu.Unlock()
	said := state.ReaderNothing
	switch {
	case errors.Is(err, parcel.ErrForeign):
		said = state.ReaderForeign
	case errors.Is(err, parcel.ErrOther):
		said = state.ReaderOther
	case err != nil:
		said = state.ReaderDamaged
	}
	r.sayCodes(said, name)
	if whole {
		r.stopped.Store(false)
		r.takeInFile(browser.File{Text: string(all)})
	}
	return whole
}

// sayCodes says how far the reading is.
func (r *Runner) sayCodes(said state.ReaderSaid, name string) {
	r.codes.mu.Lock()
	missing, of := r.codes.read.Missing()
	r.codes.mu.Unlock()
	r.Send(state.CodesSeen{Of: of, Missing: missing, Said: said, Name: name})
}

func (r *Runner) forgetCodes() {
	r.codes.mu.Lock()
	r.codes.read = parcel.Collector{}
	r.codes.mu.Unlock()
}
