package catalog

import (
	"regexp"
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
	return !b.has("unplug", "pull the plug") || b.has("switch on", "power on")
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
		return b.has("is the lens", "the lens sits", "lens cap", "lens twitches", "look from the side", "past the lens", "over the lens", "towards the lens", "into a slot", "through the slot")
	}},
	{"laser", "the pick-up is changed or measured", func(b *block) bool {
		return b.has("swap the pick-up", "across the laser", "laser current", "take the pick-up off", "never probe the diode", "the label's current", "the disc not turn against", "magnet")
	}},
	{"live", "something is probed under power", func(b *block) bool {
		return b.powered() && (b.need("multimeter", "scope", "bench-supply") || b.has("probe", "scope on", "black lead", "back of a finger", "bursts on the driver", "press and bend", "trimmer at a time", "slot, turn by hairs")) || b.has("10 w resistor")
	}},
	{"static", "the pick-up's cable or pads are touched", func(b *block) bool {
		return b.has("shorting pads", "open the pads", "slide the cable out", "swap the pick-up", "pads only")
	}},
	{"static", "the lens is touched", func(b *block) bool { return b.has("one light turn") }},
	{"static", "a meter or an iron touches parts of the drive", func(b *block) bool {
		return b.setup.Depth > 1 && !b.powered() && b.need("multimeter", "iron") && !b.has("big capacitor")
	}},
	{"iron", "an iron is used", func(b *block) bool { return b.need("iron") }},
	{"solvent", "alcohol is used", func(b *block) bool { return b.need("alcohol") || b.has("alcohol", "contact cleaner") }},
	{"spray", "cold spray is used", func(b *block) bool { return b.need("cold-spray") || b.has("bursts") }},
	{"heat", "a hot part is felt", func(b *block) bool { return b.has("back of a finger", "back of the hand") }},
	{"pinch", "a disc is started, which somebody is about to take out again", func(b *block) bool {
		return b.kind == "test" && b.powered() && b.has("wait a full minute", "start the good disc", "start any disc", "start a good", "play the start")
	}},
	{"pinch", "a disc, tray or roller moves near a hand", func(b *block) bool {
		return b.powered() && b.has("fingers clear", "ear near", "an ear to", "push its front", "press the shut lid", "light push", "let the disc stop", "watch its rim", "the rollers pull", "try to start for", "the lens should go", "press eject", "the sled should run", "does anything move")
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

// Whoever looks at, or leans over, a drive that runs has been told where to keep the
// head; what opens a view is known by what the step looks at.
func TestTheHeadIsToTheSideBeforeTheLensIsLit(t *testing.T) {
	looked := 0
	each(t, func(t *testing.T, m *model.Model) {
		for _, b := range blocks(m) {
			if !b.powered() || !b.has("lid switch down", "the lens should", "the sled should", "look at the label", "watch its rim", "film the dot", "the label's current") {
				continue
			}
			looked++
			assert.Contains(t, b.steps, "your head to the side", b.what)
		}
	})
	assert.Greater(t, looked, 20)
}

// A step under power that looks at a slot forbids the look into it; to look into one
// the unit is unplugged.
func TestNobodyLooksIntoASlotUnderPower(t *testing.T) {
	look := regexp.MustCompile(`[^.;:]*\b(?:look|looks|watch|see|peer|film)\b[^.;:]*\bslot\b[^.;:]*`)
	forbidden, unplugged := 0, 0
	each(t, func(t *testing.T, m *model.Model) {
		for _, b := range blocks(m) {
			if b.powered() {
				for _, s := range look.FindAllString(b.steps, -1) {
					forbidden++
					assert.Regexp(t, `\bnever (through|into) the slot`, s, b.what)
				}
				assert.NotRegexp(t, `(look|watch|see|film)[a-z ]* (through|into) the slot`, b.steps, b.what)
			} else if b.has("into a slot") {
				unplugged++
				assert.Regexp(t, `^unplug`, b.first, b.what)
			}
		}
	})
	assert.Equal(t, 3, forbidden, "spin-look, count-turns and rim-look of slot-in")
	assert.Equal(t, 1, unplugged, "slot-look")
}

// A strap ties a hand to earth: it is worn only while the plug is out. Live steps never
// ask for one, and a caution that does says so, and when it comes off.
func TestNoStrapIsWornUnderPower(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		for _, b := range blocks(m) {
			if b.powered() {
				assert.NotContains(t, b.steps, "strap", b.what)
			}
		}
		asked := 0
		for _, c := range m.Cautions {
			s := strings.ToLower(c.Text)
			if !strings.Contains(s, "strap (") {
				continue
			}
			asked++
			assert.Regexp(t, `^unplugged: .*1 mω.* strap off before power`, s, c.ID)
			assert.NotRegexp(t, `earthed metal`, s, "a two-pin unit has none")
		}
		assert.Equal(t, 1, asked)
		live, ok := m.Caution("live")
		require.True(t, ok)
		assert.Regexp(t, `^Strap off\.`, live.Text)
	})
}

// Closing or opening the laser's shorting pads is soldering: with iron, its caution and its
// minutes, and only where a pick-up leaves its unit. A cable that is moved for a minute, or a drive
// that comes out with its pick-up, asks for the strap and nothing that cannot be reached.
func TestShortingPadsAreForTheIron(t *testing.T) {
	closed := regexp.MustCompile(`close the [a-z' -]*shorting pads|wick [a-z' -]*(pads|blob)`)
	moved := regexp.MustCompile(`cable out\b|cable comes out|free the pick-up's flat cable|its cable off|move the flat cable`)
	soldered, strapped := 0, 0
	each(t, func(t *testing.T, m *model.Model) {
		for _, b := range blocks(m) {
			if closed.MatchString(b.steps) {
				soldered++
				assert.True(t, b.need("iron"), b.what)
				assert.Contains(t, b.cautions, model.CautionID("iron"), b.what)
				assert.Contains(t, b.cautions, model.CautionID("static"), b.what)
				continue
			}
			assert.NotContains(t, b.steps, "close the shorting", b.what)
			if moved.MatchString(b.steps) {
				strapped++
				assert.Regexp(t, `strap on`, b.steps, b.what)
				assert.Contains(t, b.cautions, model.CautionID("static"), b.what)
			}
		}
		for i := range m.Repairs {
			for _, c := range m.Repairs[i].Change.Risks {
				if m.Modes[c.Mode].ID == "pads.closed" {
					assert.Contains(t, m.Repairs[i].Needs, model.ToolID("iron"), m.Repairs[i].ID)
				}
			}
		}
	})
	assert.Equal(t, 9, soldered, "swap-pickup, replace-pickup and open-pads of each family")
	assert.GreaterOrEqual(t, strapped, 16)
}

// Five minutes are waited once, on the way in, and counted there; no step inside says to wait again.
func TestTheWaitIsStatedOnce(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		for _, b := range blocks(m) {
			waits := strings.Count(b.steps, "five minutes")
			if b.kind == "enter" && (b.setup.Depth == 1 || b.setup.ID == "supply-out") {
				assert.Equal(t, 1, waits, b.what)
				assert.GreaterOrEqual(t, b.setup.Enter.Minutes, 7.0, b.what)
			} else if b.what != "repair renew-caps" { // which has been under power in between
				assert.Zero(t, waits, b.what)
			}
		}
	})
}

// Under power inside, one hand holds a switch and the other is kept away: leads are
// clipped on before, and each test says once when the unit goes on.
func TestLeadsAreOnBeforePower(t *testing.T) {
	clipped, on := 0, 0
	each(t, func(t *testing.T, m *model.Model) {
		for _, b := range blocks(m) {
			if b.kind != "test" || b.setup.Depth == 0 || !b.powered() {
				continue
			}
			on++
			assert.Equal(t, 1, strings.Count(b.steps, "switch on")+strings.Count(b.steps, "power on"), "%s: when does it go on?", b.what)
			if !b.need("multimeter", "scope") || b.need("bench-supply") || b.what == "test sensor-offset" { // four outputs in turn, nothing held
				continue
			}
			clipped++
			first := regexp.MustCompile(`\b(clip|clips|clipped|hook)\b`).FindStringIndex(b.steps)
			require.NotNil(t, first, b.what)
			assert.Less(t, first[0], strings.Index(b.steps, "switch on"), b.what)
		}
	})
	assert.Greater(t, on, 40)
	assert.Greater(t, clipped, 25)
}

// A bridge drives both ends of a coil; the clip of a scope is earth.
func TestNoScopeClipGoesOnACoil(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		coils := 0
		for _, b := range blocks(m) {
			if b.need("scope") && b.has("coil") {
				coils++
				assert.Contains(t, b.steps, "ground clip on ground, never on the coil", b.what)
			}
		}
		assert.Equal(t, 1, coils)
	})
}

// The label's current is where the trimmer stops; a per cent above it reads as leave.
func TestTheTrimmerStopsAtTheLabel(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		x, ok := m.Repair("reset-trimmer")
		require.True(t, ok)
		steps := strings.Join(x.Steps, " ")
		assert.Contains(t, steps, "Stop there, never above it.")
		assert.NotContains(t, steps, "%")
		for _, c := range []model.CautionID{"laser", "live", "mains", "static"} {
			assert.Contains(t, x.Cautions, c)
		}
	})
}

// 60 V is the limit of touching. What is soldered on is at zero, and a supply that is
// tried out has its cover on and is unplugged and measured again.
func TestSolderingWaitsForZero(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		charged := 0
		for _, b := range blocks(m) {
			if b.need("iron") && slices.Contains(b.cautions, "charge") && b.has("below") {
				charged++
				assert.Contains(t, b.steps, "below 1 v", b.what)
			}
			if b.has("10 w resistor") {
				assert.Regexp(t, `cover of the supply on\. plug in, hands off, read\. unplug, wait five minutes, measure again`, b.steps, b.what)
			}
		}
		assert.Equal(t, 2, charged, "replace-fuse and renew-caps")
	})
}

// What is wetted or frozen is dry before the unit goes on.
func TestWetPartsAreDryBeforePower(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		for _, id := range []model.CautionID{"solvent", "spray"} {
			c, ok := m.Caution(id)
			require.True(t, ok, id)
			assert.Regexp(t, `(?i)power only when nothing is wet|wipe dry, only then power`, c.Text, id)
		}
		wipe, ok := m.Repair("wipe-disc")
		require.True(t, ok)
		assert.Contains(t, strings.Join(wipe.Steps, " "), "dry before it goes back in")
	})
}

// Heat is felt from near, never by touch, and never near the mains side; the test that
// asks for it and its caution say the same.
func TestHeatIsFeltFromNear(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		felt := 0
		for _, b := range blocks(m) {
			if !b.has("back of a finger") {
				continue
			}
			felt++
			assert.Regexp(t, `^stay off the mains side`, b.first, b.what)
			assert.NotRegexp(t, `touch for|seconds`, b.steps, b.what)
			assert.Contains(t, b.steps, "before you touch it", b.what)
		}
		assert.Equal(t, 1, felt)
		heat, ok := m.Caution("heat")
		require.True(t, ok)
		assert.Regexp(t, `^Stay off the mains side\. Bring only the back of a finger near, never press`, heat.Text)
	})
}
