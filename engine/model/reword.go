package model

import "slices"

// Reworded returns the model with other texts: f is called once for every block that
// may carry some, with the block's key and its texts as they were loaded, and returns
// those to show. Numbers, ids, Text and SHA256 stay, so that odds, trails and exports do.
//
// Keys are "" for the model itself, then "cautions/laser", "tools/loupe",
// "setups/open", "setups/open/enter", "setups/open/leave", "components/lens",
// "modes/lens.dirty", "tests/listen", "tests/listen/outcomes/spins" and
// "repairs/clean-lens". Sources are cited, not translated.
func (m *Model) Reworded(f func(key string, w Words) Words) *Model {
	m = m.Original()
	out := *m
	out.original = m
	out.Words = f("", m.Words)
	out.Cautions = slices.Clone(m.Cautions)
	for i := range out.Cautions {
		c := &out.Cautions[i]
		c.Words = f("cautions/"+string(c.ID), c.Words)
	}
	out.Tools = slices.Clone(m.Tools)
	for i := range out.Tools {
		t := &out.Tools[i]
		t.Words = f("tools/"+string(t.ID), t.Words)
	}
	out.Setups = slices.Clone(m.Setups)
	for i := range out.Setups {
		s := &out.Setups[i]
		key := "setups/" + string(s.ID)
		s.Words = f(key, s.Words)
		s.Enter.Words = f(key+"/enter", s.Enter.Words)
		s.Leave.Words = f(key+"/leave", s.Leave.Words)
	}
	out.Components = slices.Clone(m.Components)
	for i := range out.Components {
		c := &out.Components[i]
		c.Words = f("components/"+string(c.ID), c.Words)
	}
	out.Modes = slices.Clone(m.Modes)
	for i := range out.Modes {
		mode := &out.Modes[i]
		mode.Words = f("modes/"+string(mode.ID), mode.Words)
	}
	out.Tests = slices.Clone(m.Tests)
	for i := range out.Tests {
		t := &out.Tests[i]
		key := "tests/" + string(t.ID)
		t.Words = f(key, t.Words)
		t.Outcomes = slices.Clone(t.Outcomes)
		for k := range t.Outcomes {
			o := &t.Outcomes[k]
			o.Words = f(key+"/outcomes/"+string(o.ID), o.Words)
		}
	}
	out.Repairs = slices.Clone(m.Repairs)
	for i := range out.Repairs {
		r := &out.Repairs[i]
		r.Words = f("repairs/"+string(r.ID), r.Words)
	}
	return &out
}

// Original returns the model with the texts that it was loaded with.
func (m *Model) Original() *Model {
	if m.original != nil {
		return m.original
	}
	return m
}
