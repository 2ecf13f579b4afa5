package trail

// Standing returns the terms that stand after all live events: those of the last live terms
// event, or else those that the trail began with.
func (t *Trail) Standing() Terms {
	live := t.Live()
	for i := len(t.Events) - 1; i >= 0; i-- {
		if e := &t.Events[i]; live[i] && e.Kind == NewTerms && e.Terms != nil {
			return *e.Terms
		}
	}
	return t.Terms
}

// Waiting returns the event by which the unit waits: the last live event that is no note, if
// that is a wait.
func (t *Trail) Waiting() (Event, bool) {
	live := t.Live()
	for i := len(t.Events) - 1; i >= 0; i-- {
		if e := t.Events[i]; live[i] && e.Kind != Note {
			return e, e.Kind == Wait
		}
	}
	return Event{}, false
}
