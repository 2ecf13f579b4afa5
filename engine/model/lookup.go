package model

// find returns the index of the part of that kind with that id.
func (m *Model) find(kind, id string) (int, bool) {
	i, ok := m.ids[kind+"/"+id]
	return i, ok
}

// Source returns the source with that id.
func (m *Model) Source(id SourceID) (*Source, bool) {
	return part(m, m.Sources, "source", string(id))
}

// Caution returns the caution with that id.
func (m *Model) Caution(id CautionID) (*Caution, bool) {
	return part(m, m.Cautions, "caution", string(id))
}

// Tool returns the tool with that id.
func (m *Model) Tool(id ToolID) (*Tool, bool) { return part(m, m.Tools, "tool", string(id)) }

// Setup returns the setup with that id.
func (m *Model) Setup(id SetupID) (*Setup, bool) { return part(m, m.Setups, "setup", string(id)) }

// Component returns the component with that id.
func (m *Model) Component(id ComponentID) (*Component, bool) {
	return part(m, m.Components, "component", string(id))
}

// Mode returns the mode with that id, "component.mode".
func (m *Model) Mode(id ModeID) (*Mode, bool) { return part(m, m.Modes, "mode", string(id)) }

// Test returns the test with that id.
func (m *Model) Test(id TestID) (*Test, bool) { return part(m, m.Tests, "test", string(id)) }

// Repair returns the repair with that id.
func (m *Model) Repair(id RepairID) (*Repair, bool) { return part(m, m.Repairs, "repair", string(id)) }

func part[P any](m *Model, parts []P, kind, id string) (*P, bool) {
	i, ok := m.find(kind, id)
	if !ok {
		return nil, false
	}
	return &parts[i], true
}

// Outcome returns the index in t.Outcomes of the outcome with that id.
func (t *Test) Outcome(id OutcomeID) (int, bool) {
	for i := range t.Outcomes {
		if t.Outcomes[i].ID == id {
			return i, true
		}
	}
	return 0, false
}
