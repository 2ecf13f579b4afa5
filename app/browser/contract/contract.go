// Package contract says what every Storage must hold to, as checks that run against any:
// the fake natively, and the browser's own in a browser.
package contract

import (
	"errors"
	"fmt"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"sync"

	"pitwise/app/browser"
	"pitwise/engine/trail"
)

// A Check is one sentence that a Storage must hold to. Holds makes what it needs in the
// open Storage s, whose units have ids that begin with mark: several checks may run in one
// Storage. It says what is not so, nil if all is.
type Check struct {
	Name  string
	Holds func(s browser.Storage, mark string) error
}

// Checks are all of them.
var Checks = []Check{
	{"a unit comes back as it was stored", func(s browser.Storage, mark string) error {
		u, events := begun(s, mark, 4)
		return all(
			u.err,
			s.Append(u.ID, events[1:], card(u.ID, 4, 4)),
			is(s, u.UnitRecord, events),
		)
	}},
	{"an id is used once", func(s browser.Storage, mark string) error {
		u, events := begun(s, mark, 3)
		return all(
			u.err,
			want(browser.ErrExists, s.Create(u.UnitRecord, browser.ModelRecord{}, events, browser.CardRecord{})),
			is(s, u.UnitRecord, events[:1]),
		)
	}},
	{"only the next event is taken", func(s browser.Storage, mark string) error {
		u, events := begun(s, mark, 4)
		return all(
			u.err,
			want(browser.ErrClash, s.Append(u.ID, events[:1], browser.CardRecord{})),
			want(browser.ErrClash, s.Append(u.ID, events[2:], browser.CardRecord{})),
			is(s, u.UnitRecord, events[:1]),
			s.Append(u.ID, nil, browser.CardRecord{}),
			is(s, u.UnitRecord, events[:1]),
		)
	}},
	{"of many writers at once each event has one", func(s browser.Storage, mark string) error {
		const writers, each = 4, 12
		u, events := begun(s, mark, each+1)
		if u.err != nil {
			return u.err
		}
		var mu sync.Mutex
		var wg sync.WaitGroup
		var wrong error
		won := 0
		for range writers {
			wg.Go(func() {
				for n := 1; n <= each; n++ {
					err := s.Append(u.ID, events[n:n+1], browser.CardRecord{})
					mu.Lock()
					switch {
					case err == nil:
						won++
					case !errors.Is(err, browser.ErrClash):
						wrong = err
					}
					mu.Unlock()
				}
			})
		}
		wg.Wait()
		_, got, err := s.Unit(u.ID)
		return all(wrong, err, equal("events", len(got), 1+won), equal("events", got, events[:len(got)]))
	}},
	{"what is not there is gone", func(s browser.Storage, mark string) error {
		_, events := unit(mark+"none", 2)
		_, _, unknown := s.Unit(mark + "none")
		_, model := s.Model(digest(mark, "none"))
		_, photo := s.Photo(mark+"none", "P")
		_, carded := s.Card(mark + "none")
		return all(
			want(browser.ErrGone, unknown), want(browser.ErrGone, model), want(browser.ErrGone, photo), want(browser.ErrGone, carded),
			want(browser.ErrGone, s.Append(mark+"none", events, browser.CardRecord{})),
			want(browser.ErrGone, s.Archive(mark+"none", true)),
			want(browser.ErrGone, s.AddPhoto(photograph(mark+"none", "P"))),
			want(browser.ErrGone, s.ChangePhoto(photograph(mark+"none", "P"))),
			s.Delete(mark+"none"), s.RemovePhoto(mark+"none", "P"),
		)
	}},
	{"putting away and marks are no events", func(s browser.Storage, mark string) error {
		u, events := begun(s, mark, 2)
		err := all(u.err, s.Archive(u.ID, true), s.Keep(browser.MarksKey(u.ID), "{}"))
		away := u.UnitRecord
		away.Archived = true
		c, carded := s.Card(u.ID)
		kept, failed := s.Kept(browser.MarksKey(u.ID))
		none, empty := s.Kept(mark + "/nothing")
		return all(err, carded, failed, empty, is(s, away, events[:1]), equal("put away on its card", c.Away, true), equal("kept", kept, "{}"), equal("not kept", none, ""))
	}},
	{"units come in order of their ids", func(s browser.Storage, mark string) error {
		var ids []string
		for _, name := range []string{"c", "a", "b"} {
			u, events := unit(mark+name, 1)
			if err := s.Create(u, browser.ModelRecord{}, events, browser.CardRecord{}); err != nil {
				return err
			}
		}
		units, err := s.Units()
		for _, u := range units {
			if strings.HasPrefix(u.ID, mark) {
				ids = append(ids, u.ID)
			}
		}
		return all(err, equal("ids", ids, []string{mark + "a", mark + "b", mark + "c"}))
	}},
	{"a model stays as long as it is listed or a unit needs it", func(s browser.Storage, mark string) error {
		one, two := digest(mark, "one"), digest(mark, "two")
		err := all(
			s.KeepModel(browser.ModelRecord{SHA256: one, Text: "a"}, "first"),
			s.KeepModel(browser.ModelRecord{SHA256: two, Text: "b"}, "second"),
			s.Keep("lang", "en"),
		)
		listed, failed := s.Models()
		err = all(err, failed, equal("first note", listed[one], "first"), equal("second note", listed[two], "second"))
		tr := &trail.Trail{ID: mark + "u", Created: at(0), Model: trail.ModelRef{ID: "own", Revision: "1", SHA256: one}, Terms: trail.Terms{Currency: "EUR"}}
		err = all(err, s.Create(browser.OfUnit(tr), browser.ModelRecord{}, nil, browser.CardRecord{}), s.DropModel(one), s.DropModel(two))
		listed, failed = s.Models()
		_, stillFirst := listed[one]
		_, stillSecond := listed[two]
		text, kept := s.Model(one)
		_, gone := s.Model(two)
		err = all(err, failed, kept, equal("listed", []bool{stillFirst, stillSecond}, []bool{false, false}), equal("text", string(text), "a"), want(browser.ErrGone, gone))
		err = all(err, s.Delete(mark+"u"))
		_, gone = s.Model(one)
		return all(err, want(browser.ErrGone, gone))
	}},
	{"damaged events are set aside as they are, and nothing else is", func(s browser.Storage, mark string) error {
		u, events := begun(s, mark, 3)
		err := all(u.err, s.Append(u.ID, events[1:], browser.CardRecord{}))
		other := events[2]
		other.JSON += " "
		err = all(err, want(browser.ErrClash, s.SetAside(u.ID, []browser.EventRecord{other})), is(s, u.UnitRecord, events))
		err = all(err, s.SetAside(u.ID, events[2:]), is(s, u.UnitRecord, events[:2]))
		aside, failed := s.Aside(u.ID)
		return all(err, failed, equal("aside", aside, []string{events[2].Raw()}), s.Append(u.ID, events[2:], browser.CardRecord{}), is(s, u.UnitRecord, events))
	}},
	{"of many additions all are stored or none", func(s browser.Storage, mark string) error {
		there, events := begun(s, mark, 3)
		fresh, theirs := unit(mark+"fresh", 2)
		adds := []browser.Addition{
			{Unit: fresh, New: true, Events: theirs, Card: card(fresh.ID, 2, 2), Model: browser.ModelRecord{SHA256: digest(mark, "m"), Text: "m"}},
			{Unit: browser.UnitRecord{ID: there.ID}, Events: events[1:2], Card: card(there.ID, 2, 2)},
		}
		photos := []browser.PhotoRecord{photograph(fresh.ID, "P1"), photograph(there.ID, "P2")}
		untouched := func() error {
			_, _, gone := s.Unit(fresh.ID)
			_, noModel := s.Model(digest(mark, "m"))
			ids, err := s.PhotoIDs(there.ID)
			return all(err, want(browser.ErrGone, gone), want(browser.ErrGone, noModel), equal("photographs", len(ids), 0), is(s, there.UnitRecord, events[:1]))
		}
		err := all(there.err,
			want(browser.ErrClash, s.Add(append(slices.Clone(adds), browser.Addition{Unit: browser.UnitRecord{ID: there.ID}, Events: events[:1]}), photos, nil)), untouched(),
			want(browser.ErrExists, s.Add(append(slices.Clone(adds), browser.Addition{Unit: there.UnitRecord, New: true}), photos, nil)), untouched(),
			want(browser.ErrExists, s.Add(adds, append(slices.Clone(photos), photos[0]), nil)), untouched(),
		)
		for stop := 1; stop <= 4; stop++ {
			err = all(err, want(browser.ErrStopped, s.Add(adds, photos, func(done int) bool { return done < stop })), untouched())
		}
		var told []int
		err = all(err, s.Add(adds, photos, func(done int) bool { told = append(told, done); return true }))
		ids, failed := s.PhotoIDs(there.ID)
		return all(err, failed, equal("told", told, []int{1, 2, 3, 4}), equal("photographs", ids, []string{"P2"}), is(s, fresh, theirs), is(s, there.UnitRecord, events[:2]))
	}},
	{"cards come the latest first, page by page", func(s browser.Storage, mark string) error {
		const units = 7
		version := 100 + int(mark[len(mark)-1]) // of no other check
		for i := range units {
			u, events := unit(fmt.Sprintf("%s%d", mark, i), 1)
			c := card(u.ID, int64(1000+i/2), 1) // some at the same time
			c.Version = version
			if err := s.Create(u, browser.ModelRecord{}, events, c); err != nil {
				return err
			}
		}
		err := s.Archive(mark+"3", true)
		var got []string
		q := browser.CardQuery{Version: version, Most: 2}
		for {
			page, count, failed := s.Cards(q)
			if err = all(err, failed, equal("cards", []int{count.Here, count.Away}, []int{units - 1, 1})); err != nil || len(page) == 0 {
				break
			}
			for _, c := range page {
				got = append(got, strings.TrimPrefix(c.ID, mark))
			}
			q.After = page[len(page)-1]
		}
		away, _, failed := s.Cards(browser.CardQuery{Version: version, Away: true})
		every, count, again := s.Cards(browser.CardQuery{Version: version})
		err = all(err, failed, again, equal("order", got, []string{"6", "4", "5", "2", "0", "1"}), equal("put away", len(away), 1), equal("all", len(every), units-1))
		return all(err, equal("units at least", count.Units >= units, true))
	}},
	{"a card is made anew, but never older", func(s browser.Storage, mark string) error {
		u, events := begun(s, mark, 3)
		err := all(u.err, s.Archive(u.ID, true), s.Append(u.ID, events[1:], card(u.ID, 3, 3)))
		c, failed := s.Card(u.ID)
		err = all(err, failed, equal("events", c.Events, 3), equal("put away", c.Away, true))
		old := card(u.ID, 1, 1)
		err = all(err, s.KeepCards([]browser.CardRecord{old, card(mark+"none", 1, 1)}))
		c, failed = s.Card(u.ID)
		_, none := s.Card(mark + "none")
		err = all(err, failed, want(browser.ErrGone, none), equal("events", c.Events, 3))
		other := old
		other.Version++
		lacking := func() ([]string, error) {
			ids, err := s.Uncarded(other.Version)
			return slices.DeleteFunc(ids, func(id string) bool { return id != u.ID }), err
		}
		before, failed := lacking()
		err = all(err, failed, equal("without", before, []string{u.ID}), s.KeepCards([]browser.CardRecord{other}))
		after, failed := lacking()
		return all(err, failed, equal("without", len(after), 0))
	}},
	{"photographs are kept, named anew and removed", func(s browser.Storage, mark string) error {
		u, events := begun(s, mark, 1)
		b, a := photograph(u.ID, "B"), photograph(u.ID, "A")
		err := all(u.err, s.AddPhoto(b), s.AddPhoto(a), want(browser.ErrExists, s.AddPhoto(a)))
		named := a
		named.Caption = "the label"
		named = named.Sealed()
		err = all(err, s.ChangePhoto(named))
		ids, failed := s.PhotoIDs(u.ID)
		got, read := s.Photo(u.ID, "A")
		err = all(err, failed, read, equal("ids", ids, []string{"A", "B"}), equal("photograph", got, named), equal("intact", got.Intact(), true))
		err = all(err, s.RemovePhoto(u.ID, "A"))
		ids, failed = s.PhotoIDs(u.ID)
		return all(err, failed, equal("ids", ids, []string{"B"}), is(s, u.UnitRecord, events))
	}},
	{"photographs of the unit that is being taken in are kept without it", func(s browser.Storage, mark string) error {
		p := photograph(browser.Intake, mark)
		err := all(s.AddPhoto(p), want(browser.ErrExists, s.AddPhoto(p)))
		got, read := s.Photo(browser.Intake, mark)
		err = all(err, read, equal("photograph", got, p), s.RemovePhoto(browser.Intake, mark))
		_, gone := s.Photo(browser.Intake, mark)
		return all(err, want(browser.ErrGone, gone))
	}},
	{"a unit has so many photographs and no more", func(s browser.Storage, mark string) error {
		u, _ := begun(s, mark, 1)
		err := u.err
		for i := range browser.PhotosMost {
			err = all(err, s.AddPhoto(photograph(u.ID, fmt.Sprintf("P%02d", i))))
		}
		return all(err, want(browser.ErrMany, s.AddPhoto(photograph(u.ID, "P99"))))
	}},
	{"a unit is deleted with all that is its own", func(s browser.Storage, mark string) error {
		u, events := begun(s, mark, 3)
		near, theirs := unit(u.ID+"0", 1) // the next id in order
		err := all(u.err, s.Append(u.ID, events[1:], browser.CardRecord{}), s.SetAside(u.ID, events[2:]), s.AddPhoto(photograph(u.ID, "P")),
			s.Keep(browser.MarksKey(u.ID), "{}"), s.Create(near, browser.ModelRecord{}, theirs, card(near.ID, 1, 1)), s.AddPhoto(photograph(near.ID, "P")))
		err = all(err, s.Delete(u.ID))
		_, _, gone := s.Unit(u.ID)
		_, carded := s.Card(u.ID)
		photos, failed := s.PhotoIDs(u.ID)
		aside, read := s.Aside(u.ID)
		marks, kept := s.Kept(browser.MarksKey(u.ID))
		nearPhotos, still := s.PhotoIDs(near.ID)
		_, nearCard := s.Card(near.ID)
		err = all(err, want(browser.ErrGone, gone), want(browser.ErrGone, carded), failed, read, kept, still, nearCard)
		err = all(err, equal("left", []int{len(photos), len(aside), len(marks)}, []int{0, 0, 0}), equal("next unit's", nearPhotos, []string{"P"}), is(s, near, theirs))
		// The same id again is a new unit, with nothing of the old one.
		return all(err, s.Create(u.UnitRecord, browser.ModelRecord{}, events[:1], browser.CardRecord{}), is(s, u.UnitRecord, events[:1]))
	}},
	{"what is kept stays under its key", func(s browser.Storage, mark string) error {
		err := all(s.Keep(mark+"/a", "1"), s.Keep(mark+"/a", "2"), s.Keep(mark+"/b", "3"))
		a, failed := s.Kept(mark + "/a")
		b, again := s.Kept(mark + "/b")
		return all(err, failed, again, equal("kept", []string{a, b}, []string{"2", "3"}), emptied(s, mark+"/a"))
	}},
	{"of many who alter a value at once each finds what the one before left", func(s browser.Storage, mark string) error {
		const writers, each = 4, 12
		key := mark + "/n"
		var mu sync.Mutex
		var wg sync.WaitGroup
		var wrong error
		for range writers {
			wg.Go(func() {
				for range each {
					err := s.Alter(key, func(value string) (string, error) {
						runtime.Gosched() // whoever may come in between does
						return value + "+", nil
					})
					mu.Lock()
					wrong = all(wrong, err)
					mu.Unlock()
				}
			})
		}
		wg.Wait()
		sum, failed := s.Kept(key)
		return all(wrong, failed, equal("altered", len(sum), writers*each))
	}},
	{"what is altered with an error stays, and altered to nothing is gone", func(s browser.Storage, mark string) error {
		key := mark + "/a"
		refuse := errors.New("contract: not this one")
		var found []string
		alter := func(value string, err error) error {
			return s.Alter(key, func(before string) (string, error) { found = append(found, before); return value, err })
		}
		err := all(alter("1", nil), want(refuse, alter("2", refuse)), alter("1", nil), alter("3", nil), alter("", nil))
		gone, failed := s.Kept(key)
		return all(err, failed, equal("found", found, []string{"", "1", "1", "1", "3"}), equal("kept", gone, ""))
	}},
}

// stored is a unit of a check.
type stored struct {
	browser.UnitRecord
	err error
}

// begun stores a unit with the first of n events, and returns all n.
func begun(s browser.Storage, mark string, n int) (stored, []browser.EventRecord) {
	u, events := unit(mark+"u", n)
	err := s.Create(u, browser.ModelRecord{SHA256: digest(mark, "u"), Text: "model of " + mark}, events[:1], card(u.ID, 1, 1))
	if err == nil {
		var text []byte
		if text, err = s.Model(digest(mark, "u")); err == nil && string(text) != "model of "+mark {
			err = fmt.Errorf("the model reads %q", text)
		}
	}
	return stored{u, err}, events
}

func unit(id string, n int) (browser.UnitRecord, []browser.EventRecord) {
	x := 4.74
	t := &trail.Trail{
		ID: id, Created: at(0), Model: trail.ModelRef{ID: "example", Revision: "1", SHA256: digest(id, "model")},
		Unit: trail.Unit{Label: "Grey “one” <b>", Notes: "line\nline"}, Terms: trail.Terms{MinuteValue: 0.5, Currency: "EUR"},
	}
	for i := range n {
		e := trail.Event{N: i + 1, At: at(i + 1), Kind: trail.Note, Text: fmt.Sprintf("a \"note\" with \u2028 signs, %d", i)}
		if i%3 == 1 {
			e = trail.Event{N: i + 1, At: at(i + 1), Kind: trail.Result, Test: "rail", Reading: &x}
		}
		t.Events = append(t.Events, e)
	}
	return browser.OfUnit(t), browser.OfEvents(id, t.Events)
}

func at(n int) string { return fmt.Sprintf("2026-03-04T10:%02d:%02dZ", n/60, n%60) }

// digest is what looks like the SHA-256 of a text.
func digest(parts ...string) string {
	n := uint64(14695981039346656037) // FNV-1a
	for _, c := range []byte(strings.Join(parts, "\x00")) {
		n = (n ^ uint64(c)) * 1099511628211
	}
	return strings.Repeat(fmt.Sprintf("%016x", n), 4)
}

func card(id string, at int64, events int) browser.CardRecord {
	return browser.CardRecord{ID: id, Version: 1, At: at, Events: events, Text: `{"label":"x"}`}
}

func photograph(unit, id string) browser.PhotoRecord {
	return browser.PhotoRecord{Unit: unit, ID: id, At: at(0), Of: 1, Caption: "c", Width: 8, Height: 6, Image: "\xff\xd8image", Small: "\xff\xd8small"}.Sealed()
}

// is requires that the storage holds a unit with exactly these events.
func is(s browser.Storage, u browser.UnitRecord, events []browser.EventRecord) error {
	got, all, err := s.Unit(u.ID)
	switch {
	case err != nil:
		return err
	case got != u:
		return fmt.Errorf("the unit is %+v, want %+v", got, u)
	case !got.Intact():
		return fmt.Errorf("the unit is damaged: %+v", got)
	case !slices.Equal(all, events):
		return fmt.Errorf("the events are %+v, want %+v", all, events)
	}
	return nil
}

// emptied requires that keeping nothing under a key removes what is there.
func emptied(s browser.Storage, key string) error {
	err := s.Keep(key, "")
	text, failed := s.Kept(key)
	return all(err, failed, equal("kept", text, ""))
}

func want(kind, err error) error {
	if errors.Is(err, kind) {
		return nil
	}
	return fmt.Errorf("the error is %v, want %w", err, kind)
}

func equal(what string, got, want any) error {
	if reflect.DeepEqual(got, want) {
		return nil
	}
	return fmt.Errorf("%s: %v, want %v", what, got, want)
}

// all is the first of the errors.
func all(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// Run tries every check in an open Storage and returns what is not so, by name of the
// check.
func Run(s browser.Storage) map[string]string {
	wrong := map[string]string{}
	for i, c := range Checks {
		if err := c.Holds(s, fmt.Sprintf("CHECK%c", 'A'+i)); err != nil {
			wrong[c.Name] = err.Error()
		}
	}
	return wrong
}
