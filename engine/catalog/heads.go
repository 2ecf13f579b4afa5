package catalog

import (
	"bytes"
	"encoding/json"
	"sync"
)

// Heads lists the shipped models as Models does, but for SHA256, which only composing gives:
// it reads no further into a family's file than what the file says of itself.
func Heads() []Entry { return append([]Entry(nil), heads()...) }

var heads = sync.OnceValue(func() []Entry {
	var list []Entry
	for _, name := range families {
		text, err := files.ReadFile("families/" + name + ".json")
		if err != nil {
			continue
		}
		if e, ok := headOf(text); ok {
			list = append(list, e)
		}
	}
	return list
})

// headOf reads an object's members until it has id, title and revision.
func headOf(text []byte) (e Entry, ok bool) {
	d := json.NewDecoder(bytes.NewReader(text))
	if open, err := d.Token(); err != nil || open != json.Delim('{') {
		return e, false
	}
	for d.More() && (e.ID == "" || e.Title == "" || e.Revision == "") {
		name, err := d.Token()
		if err != nil {
			return e, false
		}
		var value json.RawMessage
		if d.Decode(&value) != nil {
			return e, false
		}
		switch name {
		case "id":
			err = json.Unmarshal(value, &e.ID)
		case "title":
			err = json.Unmarshal(value, &e.Title)
		case "revision":
			err = json.Unmarshal(value, &e.Revision)
		}
		if err != nil {
			return e, false
		}
	}
	return e, e.ID != "" && e.Title != ""
}
