package model

import (
	"slices"
	"strings"
)

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
	say := func(w *Words, key ...string) { *w = f(strings.Join(key, "/"), *w) }
	say(&out.Words)
	out.Cautions = reworded(m.Cautions, func(c *Caution) { say(&c.Words, "cautions", string(c.ID)) })
	out.Tools = reworded(m.Tools, func(t *Tool) { say(&t.Words, "tools", string(t.ID)) })
	out.Setups = reworded(m.Setups, func(s *Setup) {
		say(&s.Words, "setups", string(s.ID))
		say(&s.Enter.Words, "setups", string(s.ID), "enter")
		say(&s.Leave.Words, "setups", string(s.ID), "leave")
	})
	out.Components = reworded(m.Components, func(c *Component) { say(&c.Words, "components", string(c.ID)) })
	out.Modes = reworded(m.Modes, func(mode *Mode) { say(&mode.Words, "modes", string(mode.ID)) })
	out.Tests = reworded(m.Tests, func(t *Test) {
		say(&t.Words, "tests", string(t.ID))
		t.Outcomes = reworded(t.Outcomes, func(o *Outcome) { say(&o.Words, "tests", string(t.ID), "outcomes", string(o.ID)) })
	})
	out.Repairs = reworded(m.Repairs, func(r *Repair) { say(&r.Words, "repairs", string(r.ID)) })
	return &out
}

// reworded returns copies of parts, each with other texts.
func reworded[P any](parts []P, say func(*P)) []P {
	parts = slices.Clone(parts)
	for i := range parts {
		say(&parts[i])
	}
	return parts
}

// Original returns the model with the texts that it was loaded with.
func (m *Model) Original() *Model {
	if m.original != nil {
		return m.original
	}
	return m
}
