package runner

import (
	"cmp"
	"maps"
	"slices"

	"pitwise/app/state"
	"pitwise/engine/document"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A filed is a backup as a text: its outer levels, with the units and photographs still to be read.
type filed struct {
	backup
	units  []document.Value
	photos []document.Value // data of the photographs of backup
	counts []document.Value
}

// readBackup reads the outer levels of a backup, and sees to it that it is whole. The error is of
// all that is wrong with them.
func readBackup(text []byte) (*filed, error) {
	r := document.NewReport(text)
	outer := limits
	outer.Keep = 2
	root, ok := r.Read(outer)
	if !ok || r.Len() > 0 {
		return nil, r.Err(ErrBackup)
	}
	version, _ := root.Get("version").Int()
	document.CheckVersion(r, root, backupShape, min(max(version, backupPlain), backupVersion))
	if r.Len() > 0 {
		return nil, r.Err(ErrBackup)
	}
	f := &filed{backup: backup{version: version, models: map[string]string{}}}
	f.archived, f.listed = texts(root.Get("archived")), texts(root.Get("listed"))
	for sum, each := range root.Get("models").Members() {
		f.models[sum], _ = each.Text()
	}
	seal := newSealer()
	seal.compact(func(yield func([]byte) bool) {
		for _, each := range root.Get("units").Items() {
			f.units = append(f.units, each)
			if start, end := each.Span(); !yield(text[start:end]) {
				return
			}
		}
	})
	for _, each := range root.Get("photos").Items() {
		p, data, err := readPhoto(each.Part())
		if err != nil {
			return nil, err
		}
		f.backup.photos, f.photos = append(f.backup.photos, p), append(f.photos, data)
	}
	f.bench, _ = root.Get("bench").Text()
	for _, each := range root.Get("counts").Items() {
		start, end := each.Span()
		f.backup.counts, f.counts = append(f.backup.counts, text[start:end]), append(f.counts, each)
	}
	seal.rest(&f.backup)
	digest := root.Get("sha256")
	if said, _ := digest.Text(); said != seal.digest() {
		r.Add(digest, "want %s: the file was changed or cut", seal.digest())
		return nil, r.Err(ErrBackup)
	}
	return f, nil
}

func texts(list document.Value) (all []string) {
	for _, each := range list.Items() {
		text, _ := each.Text()
		all = append(all, text)
	}
	return all
}

// takeInBackup stores every unit of a backup that is not here, and what is new of
// those that are. A unit that cannot be taken in does not hold up the others; all
// that is wrong with any comes back with what was done.
func (r *Runner) takeInBackup(text []byte) (state.Imported, error) {
	b, err := readBackup(text)
	if err != nil {
		return state.Imported{}, err
	}
	own, err := r.modelsOf(b)
	if err != nil {
		return state.Imported{}, err
	}
	in, err := r.newIntake(len(b.units) + len(b.photos))
	if err != nil {
		return state.Imported{}, err
	}
	all := state.Imported{Same: true, Bench: len(b.units) != 1 || b.version != backupAlone}
	r.claimed = &claim{models: b.listed}
	for _, p := range b.backup.photos {
		r.claimed.photos = append(r.claimed.photos, [2]string{p.unit, p.id})
	}
	ours, wrong, err := in.takeUnits(&all, b)
	if err != nil {
		return state.Imported{}, err
	}
	if err := in.takePhotos(&all, b, ours); err != nil {
		return state.Imported{}, err
	}
	if err := in.store(); err != nil {
		return state.Imported{Same: true}, err
	}
	if err := r.listAll(&all, b.listed, own); err != nil {
		return all, err
	}
	if err := r.lendAll(&all, b, wrong); err != nil {
		return all, err
	}
	if wrong.cause != nil {
		return all, wrong
	}
	return all, nil
}

// modelsOf loads the models of a backup, by SHA-256. One that is not sound refuses the file.
func (r *Runner) modelsOf(b *filed) (map[string]*model.Model, error) {
	var wrong refusal
	own := map[string]*model.Model{}
	for _, sum := range slices.Sorted(maps.Keys(b.models)) {
		m, err := model.Load([]byte(b.models[sum]))
		if err != nil {
			wrong.add(&partError{"models[" + document.Quote(sum) + "]", err}, nil, "")
			continue
		}
		own[m.SHA256] = m
	}
	if wrong.cause != nil {
		return nil, &wrong
	}
	for _, m := range own {
		r.cache(m)
	}
	return own, nil
}

// takeUnits gathers the units of a backup and adds them to what was done. It returns which of the units
// here are those of the file, and what is wrong with the others.
func (in *intake) takeUnits(all *state.Imported, b *filed) (ours map[string]bool, wrong *refusal, err error) {
	away := map[string]bool{}
	for _, id := range b.archived {
		away[id] = true
	}
	ours, wrong = map[string]bool{}, &refusal{}
	for _, each := range b.units {
		if err := in.step(); err != nil {
			return nil, nil, err
		}
		t, err := trail.Read(each.Part())
		var one state.Imported
		if err == nil {
			in.r.claimed.unit(t)
			one, err = in.trail(t, away[t.ID])
		} else {
			in.r.claimed.lost++
		}
		if ofFile(err) {
			wrong.add(err, each.Part(), each.Place())
			continue
		}
		if err != nil {
			return nil, nil, err
		}
		ours[t.ID] = true
		all.ID = t.ID
		all.New += one.New
		all.Same = all.Same && one.Same
	}
	return ours, wrong, nil
}

// listAll lists those of the models that a backup lists. The error is the storage's first.
func (r *Runner) listAll(all *state.Imported, listed []string, own map[string]*model.Model) (failed error) {
	for _, sum := range listed {
		if m := own[sum]; m != nil {
			same, err := r.list(m)
			failed = cmp.Or(failed, err)
			all.Same = all.Same && same
			if err == nil && !same {
				all.Listed++
			}
		}
	}
	return failed
}
