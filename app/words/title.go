package words

import (
	"strings"

	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
)

// Title returns the title of a part of a model, its id if it has none.
func Title[ID ~string](w model.Words, id ID) string {
	if w.Title != "" {
		return w.Title
	}
	return string(id)
}

// Mode is the title of a mode alone.
func Mode(m *model.Model, i int) string { return Title(m.Modes[i].Words, m.Modes[i].ID) }

// Part is the title of the component that a mode belongs to.
func Part(m *model.Model, mode int) string {
	c := &m.Components[m.Modes[mode].Component]
	return Title(c.Words, c.ID)
}

// Fault names a mode with its component.
func Fault(m *model.Model, i int) string { return Part(m, i) + ": " + Mode(m, i) }

// FaultOf is Fault of an id; the id itself where the model does not have it, or is not there.
func FaultOf(m *model.Model, id model.ModeID) string {
	if m != nil {
		if mode, ok := m.Mode(id); ok {
			return Fault(m, mode.Index)
		}
	}
	return string(id)
}

// Setup is the title of a setup.
func Setup(m *model.Model, i int) string { return Title(m.Setups[i].Words, m.Setups[i].ID) }

// Outcome is the title of an outcome of a test.
func Outcome(t *model.Test, i int) string { return Title(t.Outcomes[i].Words, t.Outcomes[i].ID) }

// Tool is the title of a tool.
func Tool(m *model.Model, id model.ToolID) string {
	if t, ok := partOf(m, id, (*model.Model).Tool); ok {
		return Title(t.Words, id)
	}
	return string(id)
}

// Tools lists tools.
func (w *Words) Tools(m *model.Model, ids []model.ToolID) string {
	titles := make([]string, len(ids))
	for i, id := range ids {
		titles[i] = Tool(m, id)
	}
	return w.List(titles...)
}

// Step says what a step is, in a few words.
func (w *Words) Step(m *model.Model, s plan.Step) string {
	switch s.Kind {
	case plan.SignOff:
		return w.Say(SignOff)
	case plan.WriteOff:
		return w.Say(WriteOff)
	}
	task := bench.TaskOf(m, s)
	return Title(task.Words, task.ID)
}

// Seen says outcomes of tests: "Motor supply: Low / High".
func (w *Words) Seen(m *model.Model, seen []model.Seen) string {
	all := make([]string, len(seen))
	for i, x := range seen {
		t := &m.Tests[x.Test]
		outcomes := make([]string, len(x.Outcomes))
		for k, o := range x.Outcomes {
			outcomes[k] = Outcome(t, o)
		}
		all[i] = w.Is(Title(t.Words, t.ID), strings.Join(outcomes, " / "))
	}
	return strings.Join(all, "; ")
}

// placeNames are short names of the places on a drive.
var placeNames = map[string]Key{
	"rollers":     PlaceRollers,
	"tray-drive":  PlaceTrayDrive,
	"clamp":       PlaceClamp,
	"entry":       PlaceEntry,
	"lid-switch":  PlaceLidSwitch,
	"tray-switch": PlaceTraySwitch,
	"seat-switch": PlaceSeatSwitch,
	"disc":        PlaceDisc,
	"hub":         PlaceHub,
	"lens":        PlaceLens,
	"home-switch": PlaceHomeSwitch,
	"flex":        PlaceFlex,
	"spindle":     PlaceSpindle,
	"laser":       PlaceLaser,
	"sled-motor":  PlaceSledMotor,
	"sled":        PlaceSled,
	"board":       PlaceBoard,
	"fuse":        PlaceFuse,
	"supply-plug": PlaceSupplyPlug,
	"supply":      PlaceSupply,
}

// Place is the short name of a place on a drive, if it has one.
func (w *Words) Place(id string) (name string, ok bool) {
	k, ok := placeNames[id]
	if !ok {
		return "", false
	}
	return w.Say(k), true
}
