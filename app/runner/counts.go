package runner

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/catalog"
	"pitwise/engine/document"
	"pitwise/engine/learn"
)

// Counts of other benches are kept by the id of their model, those of each text of it together: a page that
// came with other numbers holds on to them, and does not use them.

// benchesMost is of how many other benches counts are held for one text of a model: each takes up to 100 KB.
const benchesMost = 100

// errMany says that there would be counts of more benches than that.
var errMany = errors.New("runner: counts of too many benches")

// lentKey is where the counts for the model of that id are kept.
func lentKey(id string) string { return "counts/" + id }

// lent reads what is held for the model of that id.
func (r *Runner) lent(id string) ([]learn.Counts, error) {
	text, err := r.Storage.Kept(lentKey(id))
	return lentOf(text), err
}

// lentOf reads what is kept. A value that does not read is as good as none: the files that it came from are with the
// benches that gave them.
func lentOf(text string) (all []learn.Counts) {
	if text == "" || json.Unmarshal([]byte(text), &all) != nil {
		return nil
	}
	return all
}

// lentText is how it is kept.
func lentText(all []learn.Counts) (string, error) {
	some := []learn.Counts{}
	for _, c := range all {
		if len(c.Benches) > 0 {
			some = append(some, c)
		}
	}
	if len(some) == 0 {
		return "", nil
	}
	text, err := json.Marshal(some)
	return string(text), err // numbers are finite: they were read
}

// lend takes counts in. It returns what is held for their model then, and of how many benches they brought something new.
func (r *Runner) lend(c learn.Counts) (all []learn.Counts, fresh int, err error) {
	err = r.Storage.Alter(lentKey(c.Model), func(text string) (string, error) {
		var err error
		if all, fresh, err = lendTo(lentOf(text), c); err != nil || fresh == 0 {
			return text, err
		}
		return lentText(all)
	})
	return all, fresh, err
}

// lendTo puts counts to those that are held for their model, and says of how many benches they brought something new.
func lendTo(all []learn.Counts, c learn.Counts) ([]learn.Counts, int, error) {
	at, fresh := 0, 0
	for at < len(all) && all[at].SHA256 != c.SHA256 {
		at++
	}
	if at == len(all) {
		all = append(all, learn.Counts{Format: c.Format, Version: c.Version, Model: c.Model, SHA256: c.SHA256})
	}
	merged, err := learn.Merge(all[at], c)
	if err != nil {
		return nil, 0, err
	}
	before := map[string]learn.Bench{}
	for _, b := range all[at].Benches {
		before[b.ID] = b
	}
	for _, b := range merged.Benches {
		if !reflect.DeepEqual(b, before[b.ID]) {
			fresh++
		}
	}
	if fresh == 0 {
		return all, 0, nil
	}
	if n := len(merged.Benches); n > benchesMost {
		return nil, 0, document.Defects{Kind: errMany, List: []document.Defect{{
			Place: "benches", Found: fmt.Sprintf("with those that are here already %d, want at most %d", n, benchesMost),
		}}}
	}
	all[at] = merged
	return all, fresh, nil
}

// held is how the page shows what is held for the model of that id.
func (r *Runner) held(id string, all []learn.Counts) (held []state.Lent) {
	for _, c := range all {
		m, err := r.shipped(id)
		held = append(held, state.Lent{Counts: c, Stale: err != nil || c.SHA256 != m.SHA256})
	}
	return held
}

// tellLent answers with what is held for the model of that id, or with why it could not be changed.
func (r *Runner) tellLent(id string, all []learn.Counts, err error) {
	if err != nil {
		r.Send(state.StorageChanged{Trouble: troubleOf(err)})
		return
	}
	r.Send(state.LentRead{Model: id, Held: r.held(id, all)})
}

// readLent answers with all that is held.
func (r *Runner) readLent() {
	for _, family := range catalog.Heads() {
		if all, err := r.lent(family.ID); err == nil { // else the list stays as it is
			r.tellLent(family.ID, all, nil)
		}
	}
}

// dropBench takes the counts of a bench out.
func (r *Runner) dropBench(e state.DropBench) {
	var all []learn.Counts
	err := r.Storage.Alter(lentKey(e.Model), func(text string) (string, error) {
		all = lentOf(text)
		for i := range all {
			if all[i].SHA256 == e.SHA256 {
				all[i].Benches = slices.DeleteFunc(all[i].Benches, func(b learn.Bench) bool { return b.ID == e.ID })
			}
		}
		return lentText(all)
	})
	r.tellLent(e.Model, all, err)
}

// countsHere reads counts, and refuses what is of other numbers than are here. text is asked for more than once.
func (r *Runner) countsHere(text func() *document.Report) (learn.Counts, error) {
	c, err := learn.ReadCounts(text())
	if err != nil {
		return c, err
	}
	r.Device.Yield()
	m, err := r.shipped(c.Model)
	if err != nil {
		m = nil
	}
	err = learn.CheckCounts(text(), m)
	r.Device.Yield()
	return c, err
}

// takeInCounts holds the counts of other benches.
func (r *Runner) takeInCounts(text []byte) (state.Imported, error) {
	c, err := r.countsHere(func() *document.Report { return document.NewReport(text) })
	if err != nil {
		return state.Imported{}, err
	}
	all, fresh, err := r.lend(c)
	if err != nil {
		return state.Imported{}, err
	}
	return state.Imported{Same: fresh == 0, Counts: &state.TakenCounts{Benches: len(c.Benches), LentRead: state.LentRead{Model: c.Model, Held: r.held(c.Model, all)}}}, nil
}

// fileCounts puts what is held of the present numbers into a backup, with the name of this bench.
func (r *Runner) fileCounts(b *backup, all *inventory) error {
	for _, family := range catalog.Heads() {
		lent, err := r.lent(family.ID)
		if err != nil {
			return err
		}
		for _, c := range r.held(family.ID, lent) {
			if !c.Stale {
				b.counts = append(b.counts, bytes.TrimSpace(c.Encode()))
				all.counts(c.Counts)
			}
		}
	}
	var err error
	if b.bench, err = r.Storage.Kept(state.SettingBench); err != nil {
		return err
	}
	if b.bench != "" || len(b.counts) > 0 {
		b.version = backupVersion
	}
	return nil
}

// lendAll takes the counts of a backup in, and the name of its bench if this one has none. What is wrong with any is
// added to wrong; the error is the storage's.
func (r *Runner) lendAll(all *state.Imported, b *filed, wrong *refusal) error {
	for _, each := range b.counts {
		c, err := r.countsHere(each.Part)
		fresh := 0
		if err == nil {
			r.claimed.counts = append(r.claimed.counts, c)
			_, fresh, err = r.lend(c)
		} else {
			r.claimed.lost++
		}
		if ofFile(err) {
			wrong.add(err, each.Part(), each.Place())
			continue
		}
		if err != nil {
			return err
		}
		all.Lent += fresh
		all.Same = all.Same && fresh == 0
	}
	if b.bench == "" {
		return nil
	}
	var name string
	err := r.Storage.Alter(state.SettingBench, func(kept string) (string, error) {
		name = cmp.Or(kept, b.bench)
		return name, nil
	})
	if err == nil {
		r.Send(state.BenchNamed{Text: name})
	}
	return err
}

// borrow lends the learner what is held of the model's numbers, but for what is under this bench's own name.
func (l *lesson) borrow(r *Runner, own string) error {
	all, err := r.lent(l.model.ID)
	for _, c := range all {
		if c.SHA256 == l.model.SHA256 {
			l.lent = c
			err = cmp.Or(err, l.Lend(c, own))
		}
	}
	return err
}

// countFor counts the units of a model for other benches, and puts those beside them that were taken in.
func (r *Runner) countFor(e state.CountFor, turn int64) {
	l := r.lesson(e.Model, e.Bench, turn)
	if l == nil {
		return
	}
	if l.Len() == 0 {
		r.Send(state.LearnFailed{Model: e.Model, Trouble: state.LearnNone})
		return
	}
	fit, err := l.Fit(l.options(func(round int) { r.Send(state.LearnOn{Model: e.Model, Done: round, Units: l.Len()}) }))
	if r.learning.Load() != turn {
		return
	}
	var all learn.Counts
	if err == nil {
		all = fit.Counts(e.Bench)
		if l.lent.Format != "" {
			all, err = learn.Merge(all, l.lent)
		}
	}
	if err != nil {
		r.Send(state.LearnFailed{Model: e.Model, Trouble: state.LearnOther})
		return
	}
	r.Send(state.Counted{Model: e.Model, Counts: all})
}

// takeCounts hands counts over.
func (r *Runner) takeCounts(e state.TakeCounts) {
	r.handed(e.Way, r.hand(r.countsFile(e), e.Way))
}

// countsFile is named by bench, model and day.
func (r *Runner) countsFile(e state.TakeCounts) browser.File {
	day, _, _ := strings.Cut(r.stamp(), "T")
	name := "pitwise-counts-"
	if bench := slug(e.Bench); bench != "" {
		name += bench + "-"
	}
	return browser.File{Name: name + e.Counts.Model + "-" + day + ".json", Type: "application/json", Text: string(e.Counts.Encode())}
}
