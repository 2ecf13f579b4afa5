package runner

import (
	"errors"
	"maps"
	"slices"
	"sort"

	"pitwise/app/browser"
	"pitwise/app/state"
)

// A gallery is what the runner holds of photographs. It is guarded by the runner's lock.
type gallery struct {
	pending   map[string]map[string]browser.PhotoRecord // only in memory, by unit and id
	intake    map[string]browser.PhotoRecord            // stored for browser.Intake, by id
	addresses map[address]string                        // made and not forgotten
}

// An address is what an address of the browser's was made for.
type address struct {
	unit, id string
	large    bool
}

// troubleOfPhoto names why a file did not become a photograph.
func troubleOfPhoto(err error) state.PhotoTrouble {
	for _, t := range []struct {
		err     error
		trouble state.PhotoTrouble
	}{
		{browser.ErrFormat, state.PhotoFormat},
		{browser.ErrCut, state.PhotoCut},
		{browser.ErrPixels, state.PhotoPixels},
		{errLong, state.PhotoLong},
		{browser.ErrMany, state.PhotoMany},
		{browser.ErrFull, state.PhotoFull},
	} {
		if errors.Is(err, t.err) {
			return t.trouble
		}
	}
	return state.PhotoOther
}

var errLong = errors.New("runner: the file is too large for a photograph")

// keepPhotos makes photographs of the files in a field, one after another.
func (r *Runner) keepPhotos(e state.KeepPhotos) {
	var refused []state.Refusal
	room := e.Room
	for _, f := range r.Device.Chosen(e.Field) {
		if room <= 0 {
			refused = append(refused, state.Refusal{Name: f.Name, Why: state.PhotoMany})
			continue
		}
		picture, err := r.shrink(f)
		if err != nil {
			refused = append(refused, state.Refusal{Name: f.Name, Why: troubleOfPhoto(err)})
			continue
		}
		room--
		p := browser.PhotoRecord{
			Unit: e.Unit, ID: r.newID(), At: r.stamp(), Of: e.Of, Caption: cut(e.Caption, browser.CaptionMost),
			Width: picture.Width, Height: picture.Height, Image: picture.Image, Small: picture.Small,
		}.Sealed()
		r.later(func() { r.keepPhoto(p, f.Name) })
		r.Device.Yield()
	}
	r.later(func() { r.Send(state.PhotosTaken{Unit: e.Unit, Refused: refused}) })
}

func (r *Runner) shrink(f browser.Chosen) (browser.Picture, error) {
	if f.Size > browser.PhotoFileBytes {
		return browser.Picture{}, errLong
	}
	file, err := f.Read()
	if err != nil {
		return browser.Picture{}, err
	}
	return r.Device.Shrink(file)
}

// keepPhoto stores a photograph. What the storage does not take stays in memory, and
// the person is told.
func (r *Runner) keepPhoto(p browser.PhotoRecord, name string) {
	err := r.Storage.AddPhoto(p)
	if err == nil {
		r.hold(p)
		r.Send(state.PhotoTaken{Unit: p.Unit, Photo: r.shown(p, false)})
		return
	}
	if !errors.Is(err, browser.ErrMany) {
		r.pend(p)
		shown := r.shown(p, false)
		shown.Unsaved = true
		r.Send(state.PhotoTaken{Unit: p.Unit, Photo: shown})
	}
	r.Send(state.PhotoRefused{Unit: p.Unit, Refusal: state.Refusal{Name: name, Why: troubleOfPhoto(err)}})
}

// pend holds a photograph in memory.
func (r *Runner) pend(p browser.PhotoRecord) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.gallery.pending == nil {
		r.gallery.pending = map[string]map[string]browser.PhotoRecord{}
	}
	if r.gallery.pending[p.Unit] == nil {
		r.gallery.pending[p.Unit] = map[string]browser.PhotoRecord{}
	}
	r.gallery.pending[p.Unit][p.ID] = p
}

// hold keeps a photograph of the intake at hand that is stored too, so that nothing has to be read when
// the unit begins.
func (r *Runner) hold(p browser.PhotoRecord) {
	if p.Unit != browser.Intake {
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.gallery.intake == nil {
		r.gallery.intake = map[string]browser.PhotoRecord{}
	}
	r.gallery.intake[p.ID] = p
}

// holdOnly lets go of what another window has removed, or has begun a unit with.
func (r *Runner) holdOnly(ids []string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	maps.DeleteFunc(r.gallery.intake, func(id string, _ browser.PhotoRecord) bool { return !slices.Contains(ids, id) })
}

// unpend lets go of one that is in memory, and returns it.
func (r *Runner) unpend(unit, id string) (browser.PhotoRecord, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	p, ok := r.gallery.pending[unit][id]
	delete(r.gallery.pending[unit], id)
	return p, ok
}

// pending returns those of a unit that are only in memory, in order.
func (r *Runner) pending(unit string) []browser.PhotoRecord {
	r.mu.Lock()
	defer r.mu.Unlock()
	var all []browser.PhotoRecord
	for _, p := range r.gallery.pending[unit] {
		all = append(all, p)
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].ID < all[j].ID })
	return all
}

// photo returns one photograph, from memory or from the storage, or ErrRecord if it is
// damaged.
func (r *Runner) photo(unit, id string) (p browser.PhotoRecord, pending bool, err error) {
	r.mu.Lock()
	p, pending = r.gallery.pending[unit][id]
	r.mu.Unlock()
	if pending {
		return p, true, nil
	}
	if p, err = r.Storage.Photo(unit, id); err != nil {
		return p, false, err
	}
	if !p.Intact() || p.Unit != unit || p.ID != id {
		return p, false, browser.ErrRecord
	}
	return p, false, nil
}

// photos returns every photograph of a unit that can be read, in order.
func (r *Runner) photos(unit string) ([]browser.PhotoRecord, error) {
	ids, err := r.Storage.PhotoIDs(unit)
	if err != nil {
		return nil, err
	}
	all := r.pending(unit)
	for _, id := range ids {
		p, pending, err := r.photo(unit, id)
		switch {
		case pending, errors.Is(err, browser.ErrGone), errors.Is(err, browser.ErrRecord):
		case err != nil:
			return nil, err
		default:
			all = append(all, p)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].ID < all[j].ID })
	return all, nil
}

// shown is how the page shows a photograph. It has addresses until they are forgotten.
func (r *Runner) shown(p browser.PhotoRecord, full bool) state.Photo {
	s := state.Photo{ID: p.ID, At: p.At, Of: p.Of, Caption: p.Caption, Width: p.Width, Height: p.Height}
	s.Small = r.address(address{p.Unit, p.ID, false}, p.Small)
	if full {
		s.Large = r.address(address{p.Unit, p.ID, true}, p.Image)
	}
	return s
}

func (r *Runner) address(of address, jpeg string) string {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.gallery.addresses == nil {
		r.gallery.addresses = map[address]string{}
	}
	if a, ok := r.gallery.addresses[of]; ok {
		return a
	}
	a := r.Device.Address(jpeg)
	r.gallery.addresses[of] = a
	return a
}

// forget lets go of the addresses that which picks.
func (r *Runner) forget(which func(address) bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for of, a := range r.gallery.addresses {
		if which(of) {
			r.Device.Forget(a)
			delete(r.gallery.addresses, of)
		}
	}
}

// readPhotos reads the photographs of a unit. One that is damaged is shown as such.
func (r *Runner) readPhotos(e state.ReadPhotos) {
	ids, err := r.Storage.PhotoIDs(e.Unit)
	if err != nil {
		r.Send(state.PhotoRefused{Unit: e.Unit, Refusal: state.Refusal{Why: troubleOfPhoto(err)}})
	}
	if err == nil && e.Unit == browser.Intake {
		r.holdOnly(ids)
	}
	r.forget(func(a address) bool { return a.unit != browser.Intake && a.unit != e.Unit })
	msg := state.PhotosRead{Unit: e.Unit}
	for _, p := range r.pending(e.Unit) {
		shown := r.shown(p, e.Full)
		shown.Unsaved = true
		msg.Photos = append(msg.Photos, shown)
	}
	for _, id := range ids {
		p, pending, err := r.photo(e.Unit, id)
		switch {
		case pending, errors.Is(err, browser.ErrGone), e.Unit == browser.Intake && r.placed(id):
		case err != nil:
			msg.Photos = append(msg.Photos, state.Photo{ID: id, Damaged: true})
		default:
			r.hold(p)
			msg.Photos = append(msg.Photos, r.shown(p, e.Full))
		}
	}
	sort.SliceStable(msg.Photos, func(i, j int) bool { return msg.Photos[i].ID < msg.Photos[j].ID })
	r.Send(msg)
}

// openPhoto makes the address of one photograph shown large.
func (r *Runner) openPhoto(unit, id string) {
	p, _, err := r.photo(unit, id)
	if err != nil {
		r.Send(state.PhotoRefused{Unit: unit, Refusal: state.Refusal{Why: troubleOfPhoto(err)}})
		return
	}
	r.forget(func(a address) bool { return a.large && a.id != id })
	r.Send(state.PhotoShown{Unit: unit, ID: id, Address: r.address(address{unit, id, true}, p.Image)})
}

// renamePhoto stores another caption or event of a photograph.
func (r *Runner) renamePhoto(e state.RenamePhoto) {
	p, pending, err := r.photo(e.Unit, e.ID)
	if err == nil {
		p.Caption, p.Of = cut(e.Caption, browser.CaptionMost), e.Of
		p = p.Sealed()
		if pending {
			r.pend(p)
		} else {
			err = r.Storage.ChangePhoto(p)
			r.hold(p)
		}
	}
	if err != nil {
		r.Send(state.PhotoRefused{Unit: e.Unit, Refusal: state.Refusal{Name: e.Caption, Why: state.PhotoOther}})
		return
	}
	shown := r.shown(p, false)
	shown.Unsaved = pending
	r.Send(state.PhotoTaken{Unit: e.Unit, Photo: shown})
}

// cut returns the head of a text, at most so many letters.
func cut(s string, most int) string {
	n := 0
	for i := range s {
		if n == most {
			return s[:i]
		}
		n++
	}
	return s
}

// dropPhoto removes a photograph for good.
func (r *Runner) dropPhoto(unit, id string) {
	if _, was := r.unpend(unit, id); !was {
		if err := r.Storage.RemovePhoto(unit, id); err != nil {
			r.Send(state.PhotoRefused{Unit: unit, Refusal: state.Refusal{Why: state.PhotoOther}})
			return
		}
	}
	if unit == browser.Intake {
		r.mu.Lock()
		delete(r.gallery.intake, id)
		r.mu.Unlock()
	}
	r.forget(func(a address) bool { return a.unit == unit && a.id == id })
	r.Send(state.PhotoGone{Unit: unit, ID: id})
}

// keepUnsaved stores what is only in memory.
func (r *Runner) keepUnsaved(unit string) {
	for _, p := range r.pending(unit) {
		err := r.Storage.AddPhoto(p)
		if err != nil && !errors.Is(err, browser.ErrExists) {
			r.Send(state.PhotoRefused{Unit: unit, Refusal: state.Refusal{Name: p.Caption, Why: troubleOfPhoto(err)}})
			continue
		}
		r.unpend(unit, p.ID)
		_ = r.Storage.RemovePhoto(browser.Intake, p.ID) // what stays there is shown at the next intake, to be removed by hand
		r.Send(state.PhotoTaken{Unit: unit, Photo: r.shown(p, false)})
	}
}

// placePhotos gives what was taken at the intake to the unit that was begun: into the
// storage if the unit is there, else in memory beside it. What the storage has of it stays there until
// it has it with the unit.
func (r *Runner) placePhotos(unit string, stored bool) {
	all := r.pending(browser.Intake)
	r.mu.Lock()
	all = slices.AppendSeq(all, maps.Values(r.gallery.intake))
	clear(r.gallery.intake)
	r.mu.Unlock()
	for _, p := range all {
		r.unpend(browser.Intake, p.ID)
		p.Unit = unit
		p = p.Sealed()
		if !stored || r.Storage.AddPhoto(p) != nil {
			r.pend(p)
			continue
		}
		_ = r.Storage.RemovePhoto(browser.Intake, p.ID) // as in keepUnsaved
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	for of, a := range r.gallery.addresses {
		if of.unit == browser.Intake {
			delete(r.gallery.addresses, of)
			of.unit = unit
			r.gallery.addresses[of] = a
		}
	}
}

// placed reports whether a photograph of the intake is in memory beside the unit that was begun.
func (r *Runner) placed(id string) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	for unit, photos := range r.gallery.pending {
		if _, ok := photos[id]; ok && unit != browser.Intake {
			return true
		}
	}
	return false
}
