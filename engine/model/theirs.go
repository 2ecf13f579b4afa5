package model

import "slices"

// AskedFor returns the told test that asks the owner for a tool, which has the tool's id and whose first outcome says that it
// is not there: not every unit comes with a disc. Such a tool is at hand on any bench until the owner says no.
func (m *Model) AskedFor(tool ToolID) (*Test, bool) {
	t, ok := m.Test(TestID(tool))
	return t, ok && t.Told
}

// BenchTools returns the tools that a bench has or has not: all but those that the owner is asked for.
func (m *Model) BenchTools() []Tool {
	var own []Tool
	for _, t := range m.Tools {
		if _, asked := m.AskedFor(t.ID); !asked {
			own = append(own, t)
		}
	}
	return own
}

// Bare reports whether a test needs no tool of the bench.
func (m *Model) Bare(t *Test) bool {
	for _, id := range t.Needs {
		if _, asked := m.AskedFor(id); !asked {
			return false
		}
	}
	return true
}

// Theirs reports whether a test needs something that the owner is asked for.
func (m *Model) Theirs(t *Test) bool {
	return slices.ContainsFunc(t.Needs, func(id ToolID) bool { _, asked := m.AskedFor(id); return asked })
}

// Missing returns what a test needs that is not there by what was seen last of each test, as OnlyAfter is asked.
func (m *Model) Missing(t *Test, seen []int) []ToolID {
	var missing []ToolID
	for _, id := range t.Needs {
		if told, ok := m.AskedFor(id); ok && told.Index < len(seen) && seen[told.Index] == 0 {
			missing = append(missing, id)
		}
	}
	return missing
}
