package browser

import (
	"fmt"
	"slices"
)

// unitsOf returns whose the photographs are, each once.
func unitsOf(photos []PhotoRecord) (units []string) {
	for _, p := range photos {
		if !slices.Contains(units, p.Unit) {
			units = append(units, p.Unit)
		}
	}
	return units
}

// PhotoIDs implements Photographs.
func (m *Memory) PhotoIDs(unit string) ([]string, error) {
	if err := m.fails("photo-ids"); err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	var ids []string
	for id := range m.photos[unit] {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids, nil
}

// Photo implements Photographs.
func (m *Memory) Photo(unit, id string) (PhotoRecord, error) {
	if err := m.fails("photo"); err != nil {
		return PhotoRecord{}, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	p, ok := m.photos[unit][id]
	if !ok {
		return p, fmt.Errorf("%w: photograph %s of %s", ErrGone, id, unit)
	}
	return p, nil
}

// AddPhoto implements Photographs.
func (m *Memory) AddPhoto(p PhotoRecord) error {
	if err := m.fails("add-photo"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.addPhoto(p)
}

func (m *Memory) addPhoto(p PhotoRecord) error {
	if _, ok := m.units[p.Unit]; !ok && p.Unit != Intake {
		return fmt.Errorf("%w: unit %s", ErrGone, p.Unit)
	}
	if _, ok := m.photos[p.Unit][p.ID]; ok {
		return fmt.Errorf("%w: photograph %s", ErrExists, p.ID)
	}
	if len(m.photos[p.Unit]) >= PhotosMost {
		return ErrMany
	}
	if m.photos == nil {
		m.photos = map[string]map[string]PhotoRecord{}
	}
	if m.photos[p.Unit] == nil {
		m.photos[p.Unit] = map[string]PhotoRecord{}
	}
	m.photos[p.Unit][p.ID] = p
	return nil
}

// ChangePhoto implements Photographs.
func (m *Memory) ChangePhoto(p PhotoRecord) error {
	if err := m.fails("change-photo"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, ok := m.photos[p.Unit][p.ID]; !ok {
		return fmt.Errorf("%w: photograph %s of %s", ErrGone, p.ID, p.Unit)
	}
	m.photos[p.Unit][p.ID] = p
	return nil
}

// RemovePhoto implements Photographs.
func (m *Memory) RemovePhoto(unit, id string) error {
	if err := m.fails("remove-photo"); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.photos[unit], id)
	return nil
}

// SpoilPhoto changes a stored photograph, as damage would.
func (m *Memory) SpoilPhoto(unit, id string, change func(*PhotoRecord)) {
	m.mu.Lock()
	defer m.mu.Unlock()
	p := m.photos[unit][id]
	change(&p)
	m.photos[unit][id] = p
}
