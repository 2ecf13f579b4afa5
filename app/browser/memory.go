package browser

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
)

// Memory is a Storage that lasts as long as the page: the fake of the tests, and
// what is left where the browser denies storage.
type Memory struct {
	fail atomic.Pointer[func(call string) error]

	mu      sync.Mutex
	units   map[string]UnitRecord
	events  map[string][]EventRecord
	models  map[string]string
	kept    map[string]string
	photos  map[string]map[string]PhotoRecord // by unit and id
	watcher []func(Change)
}

// NewMemory returns an empty storage.
func NewMemory() *Memory {
	return &Memory{
		units: map[string]UnitRecord{}, events: map[string][]EventRecord{},
		models: map[string]string{}, kept: map[string]string{},
	}
}

// Refuse lets fail be asked before every call that stores; its error is the call's. nil
// takes everything again.
func (m *Memory) Refuse(fail func(call string) error) {
	if fail == nil {
		fail = func(string) error { return nil }
	}
	m.fail.Store(&fail)
}

func (m *Memory) fails(call string) error {
	if f := m.fail.Load(); f != nil {
		return (*f)(call)
	}
	return nil
}

// Open implements Storage.
func (m *Memory) Open() error { return m.fails("open") }

// Units implements Storage.
func (m *Memory) Units() ([]UnitRecord, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.SortedFunc(maps.Values(m.units), func(a, b UnitRecord) int {
		if a.ID < b.ID {
			return -1
		}
		return 1
	}), nil
}

// Unit implements Storage.
func (m *Memory) Unit(id string) (UnitRecord, []EventRecord, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	u, ok := m.units[id]
	if !ok {
		return u, nil, fmt.Errorf("%w: unit %s", ErrGone, id)
	}
	return u, slices.Clone(m.events[id]), nil
}

// Create implements Storage.
func (m *Memory) Create(u UnitRecord, mo ModelRecord, events []EventRecord) error {
	if err := m.fails("create"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, ok := m.units[u.ID]; ok {
		return fmt.Errorf("%w: %s", ErrExists, u.ID)
	}
	m.units[u.ID] = u
	if mo.SHA256 != "" {
		m.models[mo.SHA256] = mo.Text
	}
	m.events[u.ID] = slices.Clone(events)
	return nil
}

// Append implements Storage.
func (m *Memory) Append(unit string, events []EventRecord) error {
	if err := m.fails("append"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(events) == 0 {
		return nil
	}
	if _, ok := m.units[unit]; !ok {
		return fmt.Errorf("%w: unit %s", ErrGone, unit)
	}
	if want := len(m.events[unit]) + 1; events[0].N != want {
		return fmt.Errorf("%w: next event is %d, not %d", ErrClash, want, events[0].N)
	}
	m.events[unit] = append(m.events[unit], events...)
	return nil
}

// Model implements Storage.
func (m *Memory) Model(sha256 string) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	text, ok := m.models[sha256]
	if !ok {
		return nil, fmt.Errorf("%w: model %s", ErrGone, sha256)
	}
	return []byte(text), nil
}

// KeepModel implements Storage.
func (m *Memory) KeepModel(mo ModelRecord, note string) error {
	if err := m.fails("keep-model"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.models[mo.SHA256] = mo.Text
	m.kept[listedKey+mo.SHA256] = note
	return nil
}

// Models implements Storage.
func (m *Memory) Models() (map[string]string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	notes := map[string]string{}
	for key, note := range m.kept {
		if sha256, ok := strings.CutPrefix(key, listedKey); ok {
			notes[sha256] = note
		}
	}
	return notes, nil
}

// DropModel implements Storage.
func (m *Memory) DropModel(sha256 string) error {
	if err := m.fails("drop-model"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.kept, listedKey+sha256)
	for _, u := range m.units {
		if u.Under(sha256) {
			return nil
		}
	}
	delete(m.models, sha256)
	return nil
}

// Archive implements Storage.
func (m *Memory) Archive(unit string, on bool) error {
	if err := m.fails("archive"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	u, ok := m.units[unit]
	if !ok {
		return fmt.Errorf("%w: unit %s", ErrGone, unit)
	}
	u.Archived = on
	m.units[unit] = u
	return nil
}

// Keep implements Storage.
func (m *Memory) Keep(key, value string) error {
	if err := m.fails("keep"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.kept[key] = value
	return nil
}

// Kept implements Storage.
func (m *Memory) Kept(key string) (string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.kept[key], nil
}

// SetAside implements Storage.
func (m *Memory) SetAside(unit string, events []EventRecord) error {
	if err := m.fails("set-aside"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, e := range events {
		if !slices.Contains(m.events[unit], e) {
			return fmt.Errorf("%w: event %d is another", ErrClash, e.N)
		}
	}
	for _, e := range events {
		m.kept[e.asideKey(unit)] = e.Raw()
	}
	m.events[unit] = slices.DeleteFunc(m.events[unit], func(e EventRecord) bool { return slices.Contains(events, e) })
	return nil
}

// Aside implements Storage.
func (m *Memory) Aside(unit string) ([]string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var raw []string
	for key, value := range m.kept {
		if strings.HasPrefix(key, asideKey+unit+"/") {
			raw = append(raw, value)
		}
	}
	slices.Sort(raw)
	return raw, nil
}

// Clear loses everything, as a browser that runs out of room may, and tells so.
func (m *Memory) Clear() {
	m.Wipe()
	m.Tell(Change{Kind: Cleared})
}

// Wipe loses everything and tells nobody.
func (m *Memory) Wipe() {
	m.mu.Lock()
	fresh := NewMemory()
	m.units, m.events, m.models, m.kept, m.photos = fresh.units, fresh.events, fresh.models, fresh.kept, nil
	m.mu.Unlock()
}

// Watch implements Storage.
func (m *Memory) Watch(f func(Change)) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.watcher = append(m.watcher, f)
}

// Tell stands in for what another window or the browser does.
func (m *Memory) Tell(c Change) {
	m.mu.Lock()
	watchers := slices.Clone(m.watcher)
	m.mu.Unlock()
	for _, f := range watchers {
		f(c)
	}
}

// Spoil changes a stored event, as damage would.
func (m *Memory) Spoil(unit string, n int, change func(*EventRecord)) {
	m.mu.Lock()
	defer m.mu.Unlock()
	change(&m.events[unit][n-1])
}

// SpoilHead changes a stored head, as damage would.
func (m *Memory) SpoilHead(unit string, change func(*UnitRecord)) {
	m.mu.Lock()
	defer m.mu.Unlock()
	u := m.units[unit]
	change(&u)
	m.units[unit] = u
}
