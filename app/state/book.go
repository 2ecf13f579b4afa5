package state

import (
	"cmp"
	"slices"
	"sort"
	"strings"
	"time"

	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// The book is what the whole bench came to, unit by unit: what the totals, the faults and the list of
// what to order are made of.

// An Entry is one unit in the book.
type Entry struct {
	ID, Label string
	ModelID   string
	Model     string       // title
	Begun     string       // RFC 3339
	Left      string       // RFC 3339 of the end; "" while it is on the bench
	As        trail.Ending // "" while it is on the bench
	Back      bool         // it had left and came back
	Waits     string       // what for; a part of the model in the words of its repair
	Price     float64      // of what it waits for, Currency; 0 if not known
	Minutes   float64      // by the model's numbers
	Clock     float64      // minutes by the clock, breaks left out
	Money     float64      // spent, Currency
	Worth     float64      // as it left: working if it was signed off, else as it was; 0 on the bench
	Currency  string
	Found     []string // what somebody said was wrong
	Repairs   []string // that were done and not taken back, each once
}

// EntryOf sums a unit up for the book, in the words of its model. m may be nil.
func EntryOf(m *model.Model, t *trail.Trail) Entry {
	u := bench.Unit{Model: m, Trail: t}
	terms := u.Terms()
	e := Entry{ID: t.ID, Label: t.Unit.Label, ModelID: t.Model.ID, Model: t.Model.ID, Begun: t.Created, Currency: terms.Currency, Clock: ClockOf(t)}
	if m != nil {
		e.Model = words.Title(m.Words, m.ID)
	}
	e.Minutes, e.Money = u.Spent()
	if end, ok := u.Ended(); ok {
		e.Left, e.As, e.Worth = end.At, end.As, terms.AsIsValue
		if end.As == trail.SignedOff {
			e.Worth = terms.WorkingValue
		}
		for _, id := range end.Causes {
			e.Found = append(e.Found, words.FaultOf(m, id))
		}
	} else if wait, waits := u.Waiting(); waits {
		e.Waits = wait.For
	}
	_, e.Back = u.CameBack()
	live := t.Live()
	ends := 0
	for i := range t.Events {
		switch x := &t.Events[i]; {
		case !live[i]:
		case x.Kind == trail.End:
			ends++
		case x.Kind == trail.Repair:
			title := string(x.Repair)
			if m != nil {
				if r, ok := m.Repair(x.Repair); ok {
					title = words.Title(r.Words, r.ID)
				}
			}
			if !slices.Contains(e.Repairs, title) {
				e.Repairs = append(e.Repairs, title)
			}
		}
	}
	e.Back = e.Back || ends > 1
	if r := partOf(m, e.Waits); r >= 0 {
		e.Waits, e.Price = words.Title(m.Repairs[r].Words, m.Repairs[r].ID), u.Money(m.Repairs[r].Money)
	}
	return e
}

// partOf returns the repair whose part a unit waits for, by the repair's title in any language that is here; -1 if
// it is none of the model's.
func partOf(m *model.Model, wait string) int {
	if m == nil || wait == "" {
		return -1
	}
	for _, l := range words.Languages() {
		spoken := catalog.Speak(m, l.ID)
		if i := slices.IndexFunc(spoken.Repairs, func(r model.Repair) bool {
			return strings.EqualFold(words.Title(r.Words, r.ID), strings.TrimSpace(wait))
		}); i >= 0 {
			return i
		}
	}
	return -1
}

// BreakFrom is how many minutes between two events are a break, not work.
const BreakFrom = 30

// ClockOf returns the minutes that a unit took by the clock: from its first event to the last, without
// the breaks. What is recorded with no time in it, and times that run back, count nothing.
func ClockOf(t *trail.Trail) float64 {
	sum := 0.0
	last, err := time.Parse(time.RFC3339, t.Created)
	known := err == nil
	for _, e := range t.Events {
		at, err := time.Parse(time.RFC3339, e.At)
		if err != nil {
			continue
		}
		if gap := at.Sub(last).Minutes(); known && gap > 0 && gap < BreakFrom {
			sum += gap
		}
		last, known = at, true
	}
	return sum
}

// A Total is what some units came to, in one currency.
type Total struct {
	Key                                   string
	Currency                              string
	Units                                 int
	SignedOff, WrittenOff, Returned, Open int // Open: still on the bench
	Back                                  int // came back
	Minutes, Clock, Money, Worth          float64
}

// Month is the month in which a unit left, or was begun if it is on the bench: 2026-03.
func (e Entry) Month() string {
	at := cmp.Or(e.Left, e.Begun)
	return at[:min(len(at), len("2026-03"))]
}

// A BookBy is what the book adds up by.
type BookBy string

const (
	ByKind  BookBy = "" // of drive
	ByMonth BookBy = "month"
	ByUnit  BookBy = "unit"
)

// Sums adds the book up; months and units the latest first, units by their id.
func (by BookBy) Sums(entries []Entry) []Total {
	var all []Total
	switch by {
	case ByMonth:
		all = Totals(entries, Entry.Month)
	case ByUnit:
		all = Totals(entries, func(e Entry) string { return e.ID })
	default:
		return Totals(entries, func(e Entry) string { return e.Model })
	}
	slices.Reverse(all)
	return all
}

// Totals adds entries up by a key, by rising key and currency. The sample is no unit of the bench.
func Totals(entries []Entry, key func(Entry) string) []Total {
	sums := map[[2]string]*Total{}
	var all []*Total
	for _, e := range entries {
		if e.ID == SampleID {
			continue
		}
		k := [2]string{key(e), e.Currency}
		t := sums[k]
		if t == nil {
			t = &Total{Key: k[0], Currency: k[1]}
			sums[k] = t
			all = append(all, t)
		}
		t.Units++
		switch e.As {
		case trail.SignedOff:
			t.SignedOff++
		case trail.WrittenOff:
			t.WrittenOff++
		case trail.Returned:
			t.Returned++
		default:
			t.Open++
		}
		if e.Back {
			t.Back++
		}
		t.Minutes += e.Minutes
		t.Clock += e.Clock
		t.Money += e.Money
		t.Worth += e.Worth
	}
	sort.SliceStable(all, func(i, j int) bool {
		a, b := all[i], all[j]
		return a.Key < b.Key || a.Key == b.Key && a.Currency < b.Currency
	})
	var out []Total
	for _, t := range all {
		out = append(out, *t)
	}
	return out
}

// A Tally is how often something was, of units that left the bench.
type Tally struct {
	Name string
	N    int
	Held int // of a repair: units that were signed off and did not come back
}

// Faults counts what was found to be wrong, the most frequent first.
func Faults(entries []Entry) []Tally {
	return tallied(entries, func(e Entry) []string { return e.Found })
}

// Repairs counts the repairs of units that left the bench, and how many of those held.
func Repairs(entries []Entry) []Tally {
	return tallied(entries, func(e Entry) []string {
		if e.As == "" {
			return nil
		}
		return e.Repairs
	})
}

func tallied(entries []Entry, names func(Entry) []string) []Tally {
	at := map[string]int{}
	var all []Tally
	for _, e := range entries {
		if e.ID == SampleID {
			continue
		}
		for _, name := range names(e) {
			i, ok := at[name]
			if !ok {
				i = len(all)
				at[name] = i
				all = append(all, Tally{Name: name})
			}
			all[i].N++
			if e.As == trail.SignedOff && !e.Back {
				all[i].Held++
			}
		}
	}
	sort.SliceStable(all, func(i, j int) bool {
		a, b := all[i], all[j]
		return a.N > b.N || a.N == b.N && a.Name < b.Name
	})
	return all
}

// An Order is a part that units wait for.
type Order struct {
	Part     string
	Count    int
	Price    float64 // of one, Currency; 0 if not known
	Currency string
	For      []string // labels
}

// Orders lists what all waiting units wait for but their owners, by name; the same name with the same price is one
// line.
func Orders(entries []Entry) []Order {
	var all []Order
	for _, e := range entries {
		part := strings.TrimSpace(e.Waits)
		if part == "" || words.IsOwner(part) {
			continue
		}
		i := slices.IndexFunc(all, func(o Order) bool {
			return strings.EqualFold(o.Part, part) && o.Price == e.Price && o.Currency == e.Currency
		})
		if i < 0 {
			i = len(all)
			all = append(all, Order{Part: part, Price: e.Price, Currency: e.Currency})
		}
		all[i].Count++
		all[i].For = append(all[i].For, e.Label)
	}
	sort.SliceStable(all, func(i, j int) bool { return strings.ToLower(all[i].Part) < strings.ToLower(all[j].Part) })
	return all
}
