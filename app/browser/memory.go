package browser

import (
	"fmt"
	"maps"
	"slices"
	"sort"
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
	cards   map[string]CardRecord
	watcher []func(Change)
}

// NewMemory returns an empty storage.
func NewMemory() *Memory {
	return &Memory{
		units: map[string]UnitRecord{}, events: map[string][]EventRecord{},
		models: map[string]string{}, kept: map[string]string{}, cards: map[string]CardRecord{},
	}
}

// Refuse lets fail be asked before every call, by its name in small letters; its error is
// the call's. nil lets everything through again.
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
	if err := m.fails("units"); err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	var all []UnitRecord
	for _, id := range slices.Sorted(maps.Keys(m.units)) {
		all = append(all, m.units[id])
	}
	return all, nil
}

// Unit implements Storage.
func (m *Memory) Unit(id string) (UnitRecord, []EventRecord, error) {
	if err := m.fails("unit"); err != nil {
		return UnitRecord{}, nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	u, ok := m.units[id]
	if !ok {
		return u, nil, fmt.Errorf("%w: unit %s", ErrGone, id)
	}
	return u, slices.Clone(m.events[id]), nil
}

// Create implements Storage.
func (m *Memory) Create(u UnitRecord, mo ModelRecord, events []EventRecord, card CardRecord) error {
	if err := m.fails("create"); err != nil {
		return err
	}
	return m.add([]Addition{{Unit: u, Model: mo, Events: events, Card: card, New: true}}, nil, nil)
}

// Append implements Storage.
func (m *Memory) Append(unit string, events []EventRecord, card CardRecord) error {
	if err := m.fails("append"); err != nil {
		return err
	}
	if len(events) == 0 {
		return nil
	}
	return m.add([]Addition{{Unit: UnitRecord{ID: unit}, Events: events, Card: card}}, nil, nil)
}

// Add implements Storage.
func (m *Memory) Add(all []Addition, photos []PhotoRecord, goOn func(done int) bool) error {
	if err := m.fails("add"); err != nil {
		return err
	}
	return m.add(all, photos, goOn)
}

func (m *Memory) add(all []Addition, photos []PhotoRecord, goOn func(done int) bool) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	before := m.copied()
	err := m.addAll(all, photos, goOn)
	if err != nil {
		m.units, m.events, m.models, m.cards, m.photos = before.units, before.events, before.models, before.cards, before.photos
	}
	return err
}

// copied returns what is stored, for undoing what is done to it.
func (m *Memory) copied() *Memory {
	c := &Memory{units: maps.Clone(m.units), events: maps.Clone(m.events), models: maps.Clone(m.models), cards: maps.Clone(m.cards)}
	c.photos = map[string]map[string]PhotoRecord{}
	for unit, photos := range m.photos {
		c.photos[unit] = maps.Clone(photos)
	}
	return c
}

func (m *Memory) addAll(all []Addition, photos []PhotoRecord, goOn func(done int) bool) error {
	for i, a := range all {
		id := a.Unit.ID
		u, there := m.units[id]
		switch want := len(m.events[id]) + 1; {
		case a.New && there:
			return fmt.Errorf("%w: %s", ErrExists, id)
		case !a.New && !there:
			return fmt.Errorf("%w: unit %s", ErrGone, id)
		case !a.New && len(a.Events) > 0 && a.Events[0].N != want:
			return fmt.Errorf("%w: next event is %d, not %d", ErrClash, want, a.Events[0].N)
		case a.New:
			u = a.Unit
			m.units[id] = u
		}
		if a.Model.SHA256 != "" {
			m.models[a.Model.SHA256] = a.Model.Text
		}
		m.events[id] = append(slices.Clip(m.events[id]), a.Events...)
		if a.Card.ID != "" {
			a.Card.Away = u.Archived
			m.cards[id] = a.Card
		}
		if goOn != nil && !goOn(i+1) {
			return ErrStopped
		}
	}
	for i, p := range photos {
		if err := m.addPhoto(p); err != nil {
			return err
		}
		if goOn != nil && !goOn(len(all)+i+1) {
			return ErrStopped
		}
	}
	return nil
}

// Delete implements Storage.
func (m *Memory) Delete(unit string) error {
	if err := m.fails("delete"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	u, there := m.units[unit]
	delete(m.units, unit)
	delete(m.events, unit)
	delete(m.cards, unit)
	delete(m.photos, unit)
	delete(m.kept, marksKey+unit)
	maps.DeleteFunc(m.kept, func(key, _ string) bool { return strings.HasPrefix(key, asideKey+unit+"/") })
	if there {
		m.dropUnused(u.Model())
	}
	return nil
}

// dropUnused removes a model that is not listed and under which no unit was recorded.
func (m *Memory) dropUnused(sha256 string) {
	if _, listed := m.kept[listedKey+sha256]; listed {
		return
	}
	for _, u := range m.units {
		if u.Under(sha256) {
			return
		}
	}
	delete(m.models, sha256)
}

// Cards implements Storage.
func (m *Memory) Cards(q CardQuery) ([]CardRecord, CardCount, error) {
	if err := m.fails("cards"); err != nil {
		return nil, CardCount{}, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	count := CardCount{Units: len(m.units)}
	var cards []CardRecord
	for _, c := range m.cards {
		switch {
		case c.Version != q.Version:
			continue
		case c.Away:
			count.Away++
		default:
			count.Here++
		}
		if c.Away == q.Away && (q.After.ID == "" || q.After.before(c)) {
			cards = append(cards, c)
		}
	}
	sort.SliceStable(cards, func(i, j int) bool { return cards[i].before(cards[j]) })
	if q.Most > 0 && len(cards) > q.Most {
		cards = cards[:q.Most]
	}
	return cards, count, nil
}

// Card implements Storage.
func (m *Memory) Card(id string) (CardRecord, error) {
	if err := m.fails("card"); err != nil {
		return CardRecord{}, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	c, ok := m.cards[id]
	if !ok {
		return c, fmt.Errorf("%w: card of %s", ErrGone, id)
	}
	return c, nil
}

// KeepCards implements Storage.
func (m *Memory) KeepCards(cards []CardRecord) error {
	if err := m.fails("keep-cards"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, c := range cards {
		u, ok := m.units[c.ID]
		if there, has := m.cards[c.ID]; !ok || has && there.newer(c) {
			continue
		}
		c.Away = u.Archived
		m.cards[c.ID] = c
	}
	return nil
}

// Uncarded implements Storage.
func (m *Memory) Uncarded(version int) ([]string, error) {
	if err := m.fails("uncarded"); err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	var ids []string
	for id := range m.units {
		if c, ok := m.cards[id]; !ok || c.Version != version {
			ids = append(ids, id)
		}
	}
	slices.Sort(ids)
	return ids, nil
}

// Model implements Storage.
func (m *Memory) Model(sha256 string) ([]byte, error) {
	if err := m.fails("model"); err != nil {
		return nil, err
	}
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
	if err := m.fails("models"); err != nil {
		return nil, err
	}
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
	m.dropUnused(sha256)
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
	if c, ok := m.cards[unit]; ok {
		c.Away = on
		m.cards[unit] = c
	}
	return nil
}

// Keep implements Storage.
func (m *Memory) Keep(key, value string) error {
	if err := m.fails("keep"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.keep(key, value)
	return nil
}

func (m *Memory) keep(key, value string) {
	m.kept[key] = value
	if value == "" {
		delete(m.kept, key)
	}
}

// Alter implements Storage.
func (m *Memory) Alter(key string, f func(value string) (string, error)) error {
	if err := m.fails("alter"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	value, err := f(m.kept[key])
	if err == nil {
		m.keep(key, value)
	}
	return err
}

// Kept implements Storage.
func (m *Memory) Kept(key string) (string, error) {
	if err := m.fails("kept"); err != nil {
		return "", err
	}
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
	if err := m.fails("aside"); err != nil {
		return nil, err
	}
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
	m.units, m.events, m.models, m.kept, m.cards, m.photos = fresh.units, fresh.events, fresh.models, fresh.kept, fresh.cards, nil
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
