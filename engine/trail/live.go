package trail

// Live returns which events have effect: Live()[i] is that of Events[i]. A void
// takes effect from the event that it names, and a live void of a void gives it
// back; so an event is live unless a live void names it.
func (t *Trail) Live() []bool {
	live := make([]bool, len(t.Events))
	for i := range live {
		live[i] = true
	}
	// A void names an earlier event, so from the end backwards whether a
	// void is live is known when it is reached.
	for i := len(t.Events) - 1; i >= 0; i-- {
		if e := &t.Events[i]; e.Kind == Void && live[i] && e.Of >= 1 && e.Of <= i {
			live[e.Of-1] = false
		}
	}
	return live
}
