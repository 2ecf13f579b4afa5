package catalog

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/model"
)

// A block is anything with steps that a person follows.
type block struct {
	what     string // for messages
	kind     string // test, repair, enter or leave
	setup    *model.Setup
	steps    string // in lower case, joined
	first    string // the first step in lower case
	needs    []model.ToolID
	reading  bool
	cautions []model.CautionID // all that are shown before the steps
}

// has reports whether the steps hold any of the words.
func (b *block) has(words ...string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(b.steps, w) })
}

func (b *block) need(tools ...model.ToolID) bool {
	return slices.ContainsFunc(tools, func(x model.ToolID) bool { return slices.Contains(b.needs, x) })
}

// powered reports whether the steps are followed with the unit switched on.
func (b *block) powered() bool {
	if b.kind == "enter" || b.kind == "leave" {
		return false
	}
	return !b.has("unplug", "pull the plug") || b.has("switch on", "power on", "power both on")
}

// The rules say which block must show which caution. They look at what a person
// does, not at ids of tests.
var rules = []struct {
	caution model.CautionID
	when    string
	needed  func(b *block) bool
}{
	{"mains", "the cover comes off", func(b *block) bool {
		return b.kind == "enter" && b.setup.Depth == 1
	}},
	{"charge", "the cover comes off", func(b *block) bool {
		return b.kind == "enter" && b.setup.Depth == 1
	}},
	{"static", "the inside of the unit comes within reach", func(b *block) bool {
		return b.kind == "enter" && !b.has("big capacitor")
	}},
	{"laser", "the lens comes within reach", func(b *block) bool {
		return b.kind == "enter" && !b.has("big capacitor")
	}},
	{"mains", "the supply is uncovered or worked on", func(b *block) bool {
		return b.has("big capacitor", "supply board", "insulating sheet back")
	}},
	{"charge", "the supply is uncovered or worked on", func(b *block) bool {
		return b.has("big capacitor", "supply board", "measure the rail")
	}},
	{"mains", "the unit is on with its cover off", func(b *block) bool {
		return b.setup.Depth > 0 && b.powered()
	}},
	{"laser", "the unit is on with its cover off", func(b *block) bool {
		return b.setup.Depth > 0 && b.powered()
	}},
	{"laser", "the lid's switch is held while the lid is up", func(b *block) bool {
		return b.has("lid up", "hold the lid switch down", "push the lid switch down")
	}},
	{"laser", "somebody looks at, or works near, the lens", func(b *block) bool {
		return b.has("is the lens", "the lens sits", "lens cap", "lens twitches", "look from the side", "away from the lens", "past the lens", "none near the lens", "on the lens", "into a slot")
	}},
	{"laser", "the pick-up is changed or measured", func(b *block) bool {
		return b.has("swap the pick-up", "across the laser", "laser current", "take the pick-up off", "never probe the diode", "the disc not turn against", "magnet")
	}},
	{"live", "something is probed under power", func(b *block) bool {
		return b.powered() && (b.need("multimeter", "scope", "bench-supply") || b.has("probe", "scope on", "black lead", "back of a finger", "bursts on the driver"))
	}},
	{"static", "the pick-up's cable or pads are touched", func(b *block) bool {
		return b.has("shorting pads", "open the pads", "latch, slide", "swap the pick-up", "pads only")
	}},
	{"static", "a meter or an iron touches parts of the drive", func(b *block) bool {
		return b.setup.Depth > 1 && !b.powered() && b.need("multimeter", "iron") && !b.has("big capacitor")
	}},
	{"iron", "an iron is used", func(b *block) bool { return b.need("iron") }},
	{"solvent", "alcohol is used", func(b *block) bool { return b.need("alcohol") || b.has("alcohol", "contact cleaner") }},
	{"spray", "cold spray is used", func(b *block) bool { return b.need("cold-spray") || b.has("bursts") }},
	{"heat", "a hot part is felt", func(b *block) bool { return b.has("back of a finger", "back of the hand") }},
	{"pinch", "a disc, tray or roller moves near a hand", func(b *block) bool {
		return b.powered() && b.has("fingers clear", "ear near", "an ear", "push its front", "press the shut lid", "light push", "let the disc stop", "start it.", "the lens should go", "press eject", "the sled should run", "does anything move")
	}},
}

// blocks returns every block of a model with all cautions that are shown before its
// steps: its own and, on entering a setup, that setup's.
func blocks(m *model.Model) []block {
	var all []block
	add := func(b block, steps []string) {
		b.steps = strings.ToLower(strings.Join(steps, " "))
		if len(steps) > 0 {
			b.first = strings.ToLower(steps[0])
		}
		all = append(all, b)
	}
	for i := range m.Setups {
		s := &m.Setups[i]
		if i == m.Root {
			continue
		}
		add(block{what: "enter " + string(s.ID), kind: "enter", setup: s, cautions: slices.Concat(s.Cautions, s.Enter.Cautions)}, s.Enter.Steps)
		add(block{what: "leave " + string(s.ID), kind: "leave", setup: s, cautions: slices.Concat(s.Cautions, s.Leave.Cautions)}, s.Leave.Steps)
	}
	for i := range m.Tests {
		x := &m.Tests[i]
		add(block{what: "test " + string(x.ID), kind: "test", setup: &m.Setups[x.At], needs: x.Needs, reading: x.Reading != nil, cautions: x.Cautions}, x.Steps)
	}
	for i := range m.Repairs {
		x := &m.Repairs[i]
		add(block{what: "repair " + string(x.ID), kind: "repair", setup: &m.Setups[x.At], needs: x.Needs, cautions: x.Cautions}, x.Steps)
	}
	return all
}

// missing returns the rules that a block breaks.
func missing(b *block) []string {
	var all []string
	for _, r := range rules {
		if r.needed(b) && !slices.Contains(b.cautions, r.caution) {
			all = append(all, b.what+" lacks the caution "+string(r.caution)+": "+r.when)
		}
	}
	return all
}

func TestNoStepGoesWithoutItsCaution(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		for _, b := range blocks(m) {
			assert.Empty(t, missing(&b))
		}
	})
}

// The walk itself is tested by taking away, one at a time, every caution that some
// rule asks for: each time it must speak. And every rule must ask somewhere.
func TestTakingAnyCautionAwayIsNoticed(t *testing.T) {
	asked := make([]int, len(rules))
	each(t, func(t *testing.T, m *model.Model) {
		taken := 0
		for _, b := range blocks(m) {
			for i, r := range rules {
				if !r.needed(&b) {
					continue
				}
				asked[i]++
				less := b
				less.cautions = slices.DeleteFunc(slices.Clone(b.cautions), func(c model.CautionID) bool { return c == r.caution })
				require.NotEmpty(t, missing(&less), "%s without %s", b.what, r.caution)
				taken++
			}
		}
		assert.Greater(t, taken, 100)
	})
	for i, r := range rules {
		assert.Positive(t, asked[i], "%s: %s", r.caution, r.when)
	}
}

// Steps that work unplugged say so before anything is touched; those that do not are
// done under power, and the walk above treats them so.
func TestWorkInsideBeginsWithThePlug(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		for _, b := range blocks(m) {
			if b.setup.Depth == 0 || b.kind == "leave" {
				continue
			}
			if b.kind == "enter" || b.kind == "repair" || (b.need("multimeter") && !slices.Contains(b.cautions, "live")) {
				if b.powered() {
					assert.Contains(t, b.cautions, model.CautionID("live"), "%s is done under power", b.what)
					continue
				}
				assert.Regexp(t, `unplug|plug out|pull the plug|insulating mat|tray shut|disc out`, b.first, b.what)
			}
		}
	})
}

// Every setup that is left has reminders of what to seat before its last screw.
func TestClosingUpRemindsOfWhatToSeat(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		for i, s := range m.Setups {
			if i == m.Root {
				continue
			}
			steps := strings.ToLower(strings.Join(s.Leave.Steps, " "))
			assert.Regexp(t, `screw`, steps, s.ID)
			assert.Regexp(t, `before the (last screw|plug)|only then the screws`, steps, s.ID)
			assert.Positive(t, s.Leave.Minutes)
		}
	})
}
