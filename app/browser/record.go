package browser

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"

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

// Under reports whether the unit was recorded under the model with this SHA-256. It
// may report so of one that only mentions the digest: its text then stays.
func (u UnitRecord) Under(sha256 string) bool { return strings.Contains(u.Head, sha256) }

// OfEvents makes the records of some of a unit's events.
func OfEvents(unit string, events []trail.Event) ([]EventRecord, error) {
	carrier := trail.Trail{ID: unit, Events: events}
	var raw struct {
		Events []json.RawMessage `json:"events"`
	}
	if err := json.Unmarshal(carrier.Encode(), &raw); err != nil {
		return nil, fmt.Errorf("browser: events of %s: %w", unit, err)
	}
	if len(raw.Events) != len(events) {
		return nil, fmt.Errorf("browser: events of %s: %d encoded, want %d", unit, len(raw.Events), len(events))
	}
	records := make([]EventRecord, len(events))
	for i, e := range events {
		var compact bytes.Buffer
		if err := json.Compact(&compact, raw.Events[i]); err != nil {
			return nil, fmt.Errorf("browser: event %d of %s: %w", e.N, unit, err)
		}
		text := compact.String()
		records[i] = EventRecord{Unit: unit, N: e.N, JSON: text, Sum: sum(unit, fmt.Sprint(e.N), text)}
	}
	return records, nil
}

// Intact reports whether the record is as it was written.
func (u UnitRecord) Intact() bool { return u.Sum == sum(u.ID, u.Head) }

// Intact reports whether the record is as it was written.
func (e EventRecord) Intact() bool { return e.Sum == sum(e.Unit, fmt.Sprint(e.N), e.JSON) }

// Raw is the record as one line of text, for an export of what cannot be read.
func (e EventRecord) Raw() string {
	line, _ := json.Marshal(map[string]any{"unit": e.Unit, "n": e.N, "json": e.JSON, "sum": e.Sum})
	return string(line)
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
		if good == 0 {
			return nil, nil, fmt.Errorf("%w: unit %s: %w", ErrRecord, u.ID, err)
		}
		// An intact record that does not load was written by another program or
		// an older one: go back to the last event with which the trail is whole.
		good--
	}
}

func load(u UnitRecord, events []EventRecord) (*trail.Trail, error) {
	if !u.Intact() {
		return nil, fmt.Errorf("checksum %s, want %s", sum(u.ID, u.Head), u.Sum)
	}
	var doc map[string]json.RawMessage
	if err := json.Unmarshal([]byte(u.Head), &doc); err != nil {
		return nil, err
	}
	texts := make([]string, len(events))
	for i, e := range events {
		texts[i] = e.JSON
	}
	doc["events"] = json.RawMessage("[" + strings.Join(texts, ",") + "]")
	text, err := json.Marshal(doc)
	if err != nil {
		return nil, err
	}
	return trail.Load(text)
}
