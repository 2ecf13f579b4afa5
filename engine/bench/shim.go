package bench

import "pitwise/engine/trail"

func rate(t trail.Terms) float64 {
	if t.Exchange == 0 {
		return 1
	}
	return t.Exchange
}

func standing(t *trail.Trail) trail.Terms {
	terms := t.Terms
	for i, live := range t.Live() {
		if e := &t.Events[i]; live && e.Kind == trail.NewTerms && e.Terms != nil {
			terms = *e.Terms
		}
	}
	return terms
}

func waiting(t *trail.Trail) (trail.Event, bool) {
	live := t.Live()
	for i := len(t.Events) - 1; i >= 0; i-- {
		switch e := t.Events[i]; {
		case !live[i], e.Kind == trail.Note, e.Kind == trail.Void:
		default:
			return e, e.Kind == trail.Wait
		}
	}
	return trail.Event{}, false
}
