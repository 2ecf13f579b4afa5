package browser

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pitwise/engine/document"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A UnitRecord is the head of a unit: its trail without the events.
type UnitRecord struct {
	ID       string
	Head     string // JSON of a trail whose events are empty
	Sum      string // checksum of ID and Head
	Archived bool
}

// An EventRecord is one event of a unit.
type EventRecord struct {
	Unit string
	N    int
	JSON string // the event as it stands in a trail
	Sum  string // checksum of Unit, N and JSON
}

// A ModelRecord is the exact text of a model by its SHA-256 in hexadecimal.
type ModelRecord struct {
	SHA256 string
	Text   string
}

// A CardRecord is the summary of a unit for the list of all: made with every event that is
// stored, and anew where it is missing or of another version. It is never truth.
type CardRecord struct {
	ID      string
	Version int    // of what Text is
	Away    bool   // the unit is put away; the storage sets it by the unit
	At      int64  // time of the latest event, Unix milliseconds: the latest is listed first
	Events  int    // how many events the unit had
	Text    string // for those who made it
}

// newer reports whether a stored card is of a later time of its unit than the other.
func (c CardRecord) newer(other CardRecord) bool {
	return c.Version == other.Version && c.Events > other.Events
}

// before reports whether c is listed before other.
func (c CardRecord) before(other CardRecord) bool {
	if c.At != other.At {
		return c.At > other.At
	}
	return c.ID < other.ID
}

// A CardQuery asks for cards in the order of the list.
type CardQuery struct {
	Version int
	Away    bool       // those that are put away, else the others
	After   CardRecord // those after this one; all if it is the zero CardRecord
	Most    int        // at most so many; all if it is 0
}

// A CardCount says how many there are.
type CardCount struct {
	Units      int // all units, with a card or without
	Here, Away int // cards of the version, of units that are not put away, and are
}

// An Addition is what is stored of a unit in one go: a new one, or events at its end.
type Addition struct {
	Unit   UnitRecord // only its ID counts unless New is set
	New    bool
	Model  ModelRecord // kept with it, unless its SHA256 is ""
	Events []EventRecord
	Card   CardRecord // as it is after the events; left as it is if its ID is ""
}

// sum is a checksum that tells damage, not malice: the first 16 hexadecimal digits
// of SHA-256 over the parts, each closed by a zero byte.
func sum(parts ...string) string {
	h := sha256.New()
	for _, p := range parts {
		h.Write([]byte(p))
		h.Write([]byte{0})
	}
	return hex.EncodeToString(h.Sum(nil)[:8])
}

// OfUnit makes the record of a trail's head.
func OfUnit(t *trail.Trail) UnitRecord {
	head := *t
	head.Events, head.ModelText = nil, ""
	text := string(head.Encode())
	return UnitRecord{ID: t.ID, Head: text, Sum: sum(t.ID, text)}
}

// OfModel makes the record of a model.
func OfModel(m *model.Model) ModelRecord {
	return ModelRecord{SHA256: m.SHA256, Text: string(m.Text)}
}

// listedKey is the head of the keys of what is kept about listed models.
const listedKey = "model/"

// marksKey is the head of the keys of what was ticked on units.
const marksKey = "marks/"

// MarksKey is the key under which what was ticked on a unit is kept.
func MarksKey(unit string) string { return marksKey + unit }

// Under reports whether the unit was recorded under the model with this SHA-256. It
// may report so of one that only mentions the digest: its text then stays.
func (u UnitRecord) Under(sha256 string) bool { return strings.Contains(u.Head, sha256) }

// Model is the SHA-256 of the model that the unit was recorded under, "" if its head cannot
// be read.
func (u UnitRecord) Model() string {
	t, err := load(u, nil)
	if err != nil {
		return ""
	}
	return t.Model.SHA256
}

// OfEvents makes the records of some of a unit's events.
func OfEvents(unit string, events []trail.Event) []EventRecord {
	records := make([]EventRecord, len(events))
	for i := range events {
		n, text := events[i].N, string(document.AppendCompact(nil, events[i].Encode()))
		records[i] = EventRecord{Unit: unit, N: n, JSON: text, Sum: sum(unit, strconv.Itoa(n), text)}
	}
	return records
}

// Intact reports whether the record is as it was written.
func (u UnitRecord) Intact() bool { return u.Sum == sum(u.ID, u.Head) }

// Intact reports whether the record is as it was written.
func (e EventRecord) Intact() bool { return e.Sum == sum(e.Unit, strconv.Itoa(e.N), e.JSON) }

// Raw is the record as one line of text, for an export of what cannot be read.
func (u UnitRecord) Raw() string {
	w := document.Writer{Tight: true}
	w.Object(false).Key("archived").Bool(u.Archived).Key("head").String(u.Head).Key("id").String(u.ID).Key("sum").String(u.Sum).End()
	return string(w.Bytes())
}

// Raw is the record as one line of text, for an export of what cannot be read.
func (e EventRecord) Raw() string {
	w := document.Writer{Tight: true}
	e.write(&w)
	return string(w.Bytes())
}

// write writes the record as an object, keys in their order.
func (e EventRecord) write(w *document.Writer) {
	w.Object(false).Key("json").String(e.JSON).Key("n").Int(e.N).Key("sum").String(e.Sum).Key("unit").String(e.Unit).End()
}

// asideKey is the key under which the event is kept when it was set aside.
func (e EventRecord) asideKey(unit string) string {
	return asideKey + unit + "/" + fmt.Sprint(e.N) + "/" + sum(e.Raw())
}

// Assemble puts a unit together from its records, up to the first that is
// missing, damaged or does not read as an event. The rest comes back raw. The
// error is ErrRecord if even the head cannot be read.
func Assemble(u UnitRecord, events []EventRecord) (*trail.Trail, []string, error) {
	good := 0
	for good < len(events) && events[good].N == good+1 && events[good].Intact() {
		good++
	}
	for {
		t, err := load(u, events[:good])
		if err == nil {
			var aside []string
			for _, e := range events[good:] {
				aside = append(aside, e.Raw())
			}
			return t, aside, nil
		}
		// An intact record that does not load was written by another program or an older
		// one: the trail is whole up to the first that anything is said about.
		at := firstAt(err, good)
		if at < 0 {
			at = slices.IndexFunc(events[:good], EventRecord.noJSON)
		}
		if at < 0 {
			return nil, nil, fmt.Errorf("%w: unit %s: %w", ErrRecord, u.ID, err)
		}
		good = at
	}
}

// noJSON reports whether the text cannot stand in the list of a trail's events.
func (e EventRecord) noJSON() bool {
	_, ok := document.NewReport([]byte("[[" + e.JSON + "]]")).Read(trail.Limits)
	return !ok
}

// firstAt returns the index of the first event that an error of loading a trail of n events
// speaks of, -1 if it speaks of none.
func firstAt(err error, n int) int {
	var defects trail.Defects
	if !errors.As(err, &defects) {
		return n - 1
	}
	first := -1
	for _, d := range defects.List {
		place, ok := strings.CutPrefix(d.Place, "events[")
		if !ok {
			continue
		}
		number, _, _ := strings.Cut(place, "]")
		if i, err := strconv.Atoi(number); err == nil && i < n && (first < 0 || i < first) {
			first = i
		}
	}
	return first
}

// load reads the trail of a unit with these events. A unit that was begun before there were
// newer kinds of event may have some: its head then says less than it holds.
func load(u UnitRecord, events []EventRecord) (*trail.Trail, error) {
	if !u.Intact() {
		return nil, fmt.Errorf("checksum %s, want %s", sum(u.ID, u.Head), u.Sum)
	}
	r := document.NewReport([]byte(u.Head))
	head, ok := r.Read(trail.Limits)
	if !ok {
		return nil, r.Err(trail.ErrInvalid)
	}
	version := head.Get("version").Raw()
	read := func(version string) (*trail.Trail, error) { return trail.Load(joined(head, version, events)) }
	t, err := read(version)
	if err == nil || version != "1" {
		return t, err
	}
	if newer, other := read("2"); other == nil || firstAt(other, len(events)) > firstAt(err, len(events)) {
		return newer, other
	}
	return t, err
}

// joined writes the trail of a head, as one of a version of the format, with these events.
func joined(head document.Value, version string, events []EventRecord) []byte {
	w := document.Writer{Tight: true}
	w.Object(false)
	for key, v := range head.Members() {
		w.Key(key)
		switch key {
		case "version":
			w.Raw(version)
		case "events":
			w.List(false)
			for _, e := range events {
				w.Raw(e.JSON)
			}
			w.End()
		default:
			w.Raw(v.Raw())
		}
	}
	w.End()
	return w.Bytes()
}
