package catalog

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/model"
)

// turns is the speed of a disc in turns a minute at v metres a second and r millimetres.
func turns(v, r float64) float64 { return 60 * v / (2 * math.Pi * r / 1000) }

// band returns an outcome's bounds.
func band(t *testing.T, m *model.Model, test model.TestID, outcome model.OutcomeID) (from, to float64) {
	t.Helper()
	x, ok := m.Test(test)
	require.True(t, ok, test)
	i, ok := x.Outcome(outcome)
	require.True(t, ok, "%s: %s", test, outcome)
	return x.Outcomes[i].From, x.Outcomes[i].To
}

// given returns the odds of an outcome when the mode is the only fault.
func given(t *testing.T, m *model.Model, test model.TestID, mode model.ModeID, outcomes ...model.OutcomeID) float64 {
	t.Helper()
	x, ok := m.Test(test)
	require.True(t, ok, test)
	row := x.Healthy
	if i := rowOf(m, x, mode); i >= 0 {
		row = x.Given[i].P
	}
	p := 0.0
	for _, o := range outcomes {
		i, ok := x.Outcome(o)
		require.True(t, ok, "%s: %s", test, o)
		p += row[i]
	}
	return p
}

// bands are the figures of tests that stand in a published work.
var bands = []struct {
	name     string
	source   string
	test     model.TestID
	outcome  model.OutcomeID
	from, to float64
	but      string // families that change it
}{
	{"5 V logic within 5 %", "ATX12V Power Supply Design Guide 2.0, section 3.2.1, table 2: 4.75 to 5.25 V", "logic-volts", "right", 4.75, 5.25, ""},
	{"12 V within 5 %", "ATX12V Power Supply Design Guide 2.0, section 3.2.1, table 2: 11.40 to 12.60 V", "motor-rest", "right", 11.40, 12.60, "top-loader"},
	{"12 V within 10 % at peak load", "ATX12V Power Supply Design Guide 2.0, section 3.2.1, table 2, note 1: 10.80 to 13.20 V", "motor-load", "right", 10.80, 13.20, "top-loader"},
	{"ripple on 5 V", "ATX12V Power Supply Design Guide 1.1, section 3.2.6, table 11: 50 mV p-p", "ripple", "right", math.Inf(-1), 50, ""},
	{"focus coil from 3.4 − 0.5 Ω", "twin deck service manual, p. 85: 3.4 ± 0.5 Ω; the upper edge, which other pick-ups need, is from memory", "focus-coil", "right", 3.4 - 0.5, 20, ""},
	{"tracking coil from 4.1 − 0.6 Ω", "twin deck service manual, p. 85: 4.1 ± 0.6 Ω; the upper edge, which other pick-ups need, is from memory", "tracking-coil", "right", 4.1 - 0.6, 20, ""},
	{"spindle winding 10 to 25 Ω, good ones at 5 Ω", "Notes on the Troubleshooting and Repair of CD players, section 13.3", "spindle-winding", "right", 5, 25, ""},
	{"sled winding 10 to 25 Ω, good ones at 5 Ω", "Notes on the Troubleshooting and Repair of CD players, section 13.3", "sled-winding", "right", 5, 25, ""},
	{"tray motor winding 10 to 25 Ω, good ones at 5 Ω", "Notes on the Troubleshooting and Repair of CD players, section 13.3", "tray-winding", "right", 5, 25, "top-loader slot-in"},
	{"loading motor winding 10 to 25 Ω, good ones at 5 Ω", "Notes on the Troubleshooting and Repair of CD players, section 13.3", "load-winding", "right", 5, 25, "top-loader tray"},
	{"spindle winding to case above 1 MΩ", "Notes on the Troubleshooting and Repair of CD players, section 13.3", "spindle-case", "right", 1, math.Inf(1), ""},
	{"photodiode offset 0 ± 10 mV", "mini hi-fi service manual, p. 71", "sensor-offset", "right", -10, 10, ""},
	{"8 V within 5 %", "from memory: the guide's 5 % on another rail", "motor-rest", "right", 8 * 0.95, 8 * 1.05, "tray slot-in"},
	{"8 V within 10 % at peak load", "from memory: the guide's 10 % on another rail", "motor-load", "right", 8 * 0.9, 8 * 1.1, "tray slot-in"},
}

// nominals are the nominal values of tests that stand in a published work.
var nominals = []struct {
	source string
	test   model.TestID
	want   float64
	but    string
}{
	{"ATX12V Power Supply Design Guide 2.0, section 3.2.1, table 2", "logic-volts", 5, ""},
	{"ATX12V Power Supply Design Guide 2.0, section 3.2.1, table 2", "motor-rest", 12, "top-loader"},
	{"ATX12V Power Supply Design Guide 2.0, section 3.2.1, table 2", "motor-load", 12, "top-loader"},
	{"twin deck service manual, p. 85", "focus-coil", 3.4, ""},
	{"twin deck service manual, p. 85", "tracking-coil", 4.1, ""},
	{"mini hi-fi service manual, p. 71", "sensor-offset", 0, ""},
	{"by hand from the disc's figures: 60 × 1.3 m/s / (2π × 25 mm) = 496.6", "count-turns", 497, ""},
}

// isPublished reports whether a test below holds a figure of a test to a published
// work: a band by its outcome, or the nominal value (outcome "").
func isPublished(family string, test model.TestID, outcome model.OutcomeID) bool {
	for _, x := range bands {
		if x.test == test && x.outcome == outcome && !strings.Contains(x.but, family) && !strings.HasPrefix(x.source, "from memory") {
			return true
		}
	}
	for _, x := range nominals {
		if x.test == test && outcome == "" && !strings.Contains(x.but, family) {
			return true
		}
	}
	return test == "laser-current" && (outcome == "right" || outcome == "raised")
}

func TestNominalValuesArePublishedOnes(t *testing.T) {
	for _, row := range nominals {
		each(t, func(t *testing.T, m *model.Model) {
			if x, ok := m.Test(row.test); ok && !strings.Contains(row.but, m.ID) {
				require.NotNil(t, x.Reading.Nominal)
				assert.Equal(t, row.want, *x.Reading.Nominal, row.source)
			}
		})
	}
}

func TestBandsHoldPublishedFigures(t *testing.T) {
	for _, test := range bands {
		t.Run(test.name, func(t *testing.T) {
			each(t, func(t *testing.T, m *model.Model) {
				if strings.Contains(test.but, m.ID) {
					return
				}
				from, to := band(t, m, test.test, test.outcome)
				near := func(want, got float64) {
					if math.IsInf(want, 0) {
						assert.Equal(t, want, got)
						return
					}
					assert.InDelta(t, want, got, 1e-9)
				}
				near(test.from, from)
				near(test.to, to)
			})
		})
	}
}

// Scanning velocity 1.2 to 1.4 m/s: media maker's glossary, entry SVY. First track
// from radius 25 mm: same, entry SPD; lead-in from 23 mm: Sound Engineer's Pocket
// Book, 2nd edition, chapter 18. A handbook prints 486 to 196 turns a minute at
// 1.2 m/s and 568 to 228 at 1.4, for radii of about 23.6 and 58.5 mm.
func TestTurnsAMinuteFollowFromTheDiscStandard(t *testing.T) {
	for _, row := range []struct{ v, r, want float64 }{
		{1.2, 23.6, 486}, {1.2, 58.5, 196}, {1.4, 23.6, 568}, {1.4, 58.5, 228},
	} {
		assert.InDelta(t, row.want, turns(row.v, row.r), 2)
	}
	each(t, func(t *testing.T, m *model.Model) {
		x, ok := m.Test("count-turns")
		require.True(t, ok)
		assert.InDelta(t, turns(1.3, 25), *x.Reading.Nominal, 0.5)
		assert.Contains(t, x.Why, strconv.Itoa(int(math.Round(turns(1.2, 25)))))
		assert.Contains(t, x.Why, strconv.Itoa(int(math.Round(turns(1.4, 25)))))
		from, to := band(t, m, "count-turns", "right")
		assert.Less(t, from, turns(1.2, 25), "the slowest allowed first track is right")
		assert.Greater(t, to, turns(1.4, 23), "the fastest allowed lead-in is right")
		assert.Greater(t, from, turns(1.4, 35), "a spindle a quarter too slow is not")
		assert.Less(t, to, 2*turns(1.2, 25), "twice the speed is not")
		assert.InDelta(t, turns(1.2, 25), from, 0.1*from)
		assert.InDelta(t, turns(1.4, 23), to, 0.1*to)
	})
}

// Twin deck service manual, p. 85: DVD typically 50, at most 73 mA, CD typically 70,
// at most 80 mA. Mini hi-fi service manual, p. 71: 170 to 190 mV on 4.7 Ω, damaged
// above 250 mV. The rule "10 % over the label is worn" was found in no text: the model
// has a band from the lowest to the highest of the makers' limits instead.
func TestLaserCurrentBandsSpanTheMakersLimits(t *testing.T) {
	limits := []float64{80.0 / 70, 73.0 / 50, 250.0 / 190, 250.0 / 170}
	low, high := limits[0], limits[0]
	for _, x := range limits {
		low, high = min(low, x), max(high, x)
	}
	each(t, func(t *testing.T, m *model.Model) {
		from, to := band(t, m, "laser-current", "raised")
		assert.InDelta(t, 100*low, from, 1)
		assert.InDelta(t, 100*high, to, 2.5)
		_, to = band(t, m, "laser-current", "right")
		assert.Equal(t, from, to)
		over := given(t, m, "laser-current", "laser.weak", "over") / given(t, m, "laser-current", "", "over")
		raised := given(t, m, "laser-current", "laser.weak", "raised") / given(t, m, "laser-current", "", "raised")
		right := given(t, m, "laser-current", "laser.weak", "right") / given(t, m, "laser-current", "", "right")
		assert.Greater(t, over, 2*raised, "the more above, the more it tells")
		assert.Greater(t, raised, 2*right)
	})
}

// The drop over the resistor that the test names, at the makers' figures above: a range
// of 200 mV is over above 42.6 mA, below what a CD diode typically takes. On one of 2 V
// (2,000 counts) a meter of ± (0.5 % + 2 digits of 1 mV) is off by 2.85 mV at 170 mV and
// 1.7 % (by hand): the reading's own limits leave three times that, for the resistor.
func TestLaserCurrentFitsTheRangeNamed(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		x, ok := m.Test("laser-current")
		require.True(t, ok)
		steps := strings.Join(x.Steps, " ")
		resistor := regexp.MustCompile(`often ([\d.]+) Ω`).FindStringSubmatch(steps)
		named := regexp.MustCompile(`volts d\.c\., ([\d.]+) (m?)V range`).FindStringSubmatch(steps)
		require.Len(t, resistor, 2)
		require.Len(t, named, 3)
		ohms, err := strconv.ParseFloat(resistor[1], 64)
		require.NoError(t, err)
		span, err := strconv.ParseFloat(named[1], 64)
		require.NoError(t, err)
		assert.Empty(t, named[2], "in volts")
		assert.Greater(t, 0.070*ohms, 0.2, "a sound CD diode overloads 200 mV")
		assert.Less(t, 2*0.080*ohms, span, "twice the highest limit does not overload the range named")
		digit := span / 2000
		off := 100 * (0.005*0.170 + 2*digit) / 0.170
		assert.InDelta(t, 1.68, off, 0.01)
		limits := x.Reading.Percent/100*100 + x.Reading.Absolute
		assert.Greater(t, limits, 2*off, "the meter is the smaller part")
		assert.Less(t, limits, 15.0, "and 100 % is still told from the limits of its band")
	})
}

// JCGM 100 takes a bound a as the standard uncertainty a/√3. The meter: ± (0.8 % + 5
// digits of 0.1 Ω) on 3.8 Ω is 0.5304 Ω, u 0.3062 Ω (worked by hand from the rule that
// digital meters state % of reading plus digits). Leads add 0.2 to 0.5 Ω (multimeter
// guide), so no low-ohm test may claim less.
func TestLowOhmReadingsAllowForMeterAndLeads(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		x, ok := m.Test("focus-coil")
		require.True(t, ok)
		limit := x.Reading.Percent/100*3.8 + x.Reading.Absolute
		assert.InDelta(t, 0.5304, limit, 1e-9)
		assert.InDelta(t, 0.3062, limit/math.Sqrt(3), 5e-5)
		ohms := 0
		for _, x := range m.Tests {
			if x.Reading != nil && x.Reading.Unit == "Ω" {
				ohms++
				assert.GreaterOrEqual(t, x.Reading.Absolute, 0.3, x.ID)
				assert.Regexp(t, `(?i)leads?('| |,)`, strings.Join(x.Steps, " "), x.ID)
			}
		}
		assert.GreaterOrEqual(t, ohms, 7)
	})
}

// The waiting times in the cautions are worked out from the values they name.
func TestWaitingTimesFollowFromTheValuesNamed(t *testing.T) {
	form := regexp.MustCompile(`^With ([\d.]+) µF and ([\d.]+) kΩ across it: from ([\d.]+) V to ([\d.]+) V in t = RC·ln\(V0/V\) = ([\d.]+) s`)
	// By hand: ln(325/10) = 3.4812; 4.7 s × 3.4812 = 16.36 s. ln(325/60) = 1.6895; 48.4 s × 1.6895 = 81.77 s.
	want, end := []string{"16.4", "81.8"}, []float64{10, 60}
	each(t, func(t *testing.T, m *model.Model) {
		found := 0
		for _, c := range m.Cautions {
			for _, s := range strings.SplitAfter(strings.ReplaceAll(c.Why, "With", "\nWith"), "\n") {
				f := form.FindStringSubmatch(s)
				if f == nil {
					assert.NotContains(t, s, "RC·ln", "in the form that this test reads")
					continue
				}
				n := make([]float64, 6)
				for i := 1; i < 6; i++ {
					var err error
					n[i], err = strconv.ParseFloat(f[i], 64)
					require.NoError(t, err)
				}
				got := n[1] * 1e-6 * n[2] * 1e3 * math.Log(n[3]/n[4])
				assert.Equal(t, f[5], strconv.FormatFloat(got, 'f', 1, 64))
				assert.Equal(t, want[found], f[5])
				found++
				assert.Equal(t, end[found-1], n[4], "60 V d.c.: IEC 62368-1, class ES1, from memory; 10 V: habit of the bench")
				assert.Less(t, got, 5*60.0, "five minutes are longer than the slowest of them")
			}
		}
		assert.Equal(t, len(want), found)
		charge, ok := m.Caution("charge")
		require.True(t, ok)
		assert.Regexp(t, `^Never touch before the meter has: .*below 60 V before anything is touched, below 10 V before work`, charge.Text)
		assert.Contains(t, charge.Text, "insulated 10 kΩ, 5 W resistor", "what to do where it does not fall")
		// The energy of 470 µF at 325 V, 24.8 J, goes into a resistor made for 5 W in five times
		// RC = 23.5 s: 1.1 W on average (by hand).
		assert.Less(t, 0.5*470e-6*325*325/(5*470e-6*10e3), 5.0)
	})
}

// What can be seen before what. CD changer training manual, p. 51: focus found raises
// focus-OK and the spindle starts then. Electronics repair handbook, p. 395: a disc that
// starts to turn shows that focus lock is good.
func TestTheDiscTurnsOnlyAfterFocus(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		for _, mode := range m.Modes {
			spins := given(t, m, "spin-look", mode.ID, "speed", "sags", "twitches")
			focus := given(t, m, "focus-ok", mode.ID, "holds", "flickers")
			assert.LessOrEqual(t, spins, focus+0.12, "%s: no spin without focus", mode.ID)
		}
		for _, mode := range []model.ModeID{"laser.dead", "pads.closed", "coils.focus-open"} {
			assert.GreaterOrEqual(t, given(t, m, "spin-look", mode, "still"), 0.9, "%s: no light or no lens, no spin", mode)
			assert.GreaterOrEqual(t, given(t, m, "focus-ok", mode, "never"), 0.9, mode)
			assert.GreaterOrEqual(t, given(t, m, "rf-scope", mode, "flat"), 0.9, "%s: CD changer training manual, p. 51: no RF at all, no light or no power to the pick-up", mode)
		}
		for _, mode := range []model.ModeID{"spindle.open", "spindle.worn", "bearing.hair"} {
			assert.GreaterOrEqual(t, given(t, m, "focus-ok", mode, "holds"), 0.7, "%s: focus is found all the same", mode)
			assert.Less(t, given(t, m, "spin-look", mode, "speed"), 0.3, mode)
		}
		assert.Greater(t, given(t, m, "rf-scope", "spindle.open", "burst"), 0.5, "RF in the search and no spin clears the pick-up: same manual")
	})
}

// Sled run in and never back: the home switch does not close (from memory of the
// trade: a forum gives it too). Motor that runs only after a nudge: Notes on the
// Troubleshooting and Repair of CD players, section 13.3. Worse at the start: spindle
// motor; worse at the end: bearing, sled grease: same, part 6.
func TestSignsPointWhereTheHandbooksSay(t *testing.T) {
	each(t, func(t *testing.T, m *model.Model) {
		for _, row := range []struct {
			test    model.TestID
			outcome model.OutcomeID
			more    model.ModeID
			less    model.ModeID
			times   float64
		}{
			{"sled-home", "grinds", "home.stuck", "sled.dry", 5},
			{"sled-home", "stays", "sled-motor.worn", "sled.dry", 5},
			{"spindle-cell", "nudged", "spindle.worn", "spindle.open", 5},
			{"where-fails", "start", "spindle.worn", "sled.dry", 3},
			{"where-fails", "end", "sled.dry", "spindle.worn", 3},
			{"where-fails", "end", "bearing.hair", "spindle.worn", 2},
			{"cd-dvd", "dvd", "laser.weak", "lens.dirty", 5},
			{"cd-dvd", "cd", "dvd-laser.weak", "sled.dry", 4},
			{"cold-warm", "worse", "driver.heat", "sled.dry", 5},
			{"cold-warm", "better", "sled.dry", "driver.heat", 5},
			{"cool-driver", "driver", "driver.heat", "board.joint", 5},
			{"pressed-recorded", "pressed", "lens.dirty", "fuse.open", 20},
			{"pressed-recorded", "pressed", "laser.weak", "spindle.open", 20},
		} {
			if _, ok := m.Test(row.test); !ok {
				continue // a CD-only drive compares no DVD
			}
			more, less := given(t, m, row.test, row.more, row.outcome), given(t, m, row.test, row.less, row.outcome)
			assert.Greater(t, more, row.times*less, "%s: %s speaks for %s against %s", row.test, row.outcome, row.more, row.less)
		}
		// A rewritable disc returns 15 to 25 % of the light, a pressed one at least
		// 70 %: PC technology handbook, section MultiRead. Low signal hits it first.
		for _, mode := range []model.ModeID{"lens.dirty", "mirror.fogged", "laser.weak", "dvd-laser.weak"} {
			assert.Greater(t, given(t, m, "pressed-recorded", mode, "pressed"), 5*given(t, m, "pressed-recorded", mode, "recorded"), mode)
		}
	})
}

// The handbook lists causes in order of likelihood. Notes on the Troubleshooting and
// Repair of CD players: short skips (part 6) lens first (its laser comes after the disc; in
// units bought broken it does not); drawer will not move (section
// 7.1.4) belt, gummed grease, gear, motor; drawer moves but does not register (section 7.1.5)
// sense switch first, then belt.
func TestCausesComeInTheHandbooksOrder(t *testing.T) {
	for _, row := range []struct {
		family  string
		test    model.TestID
		outcome model.OutcomeID
		order   [][]model.ModeID
	}{
		{"top-loader", "first-boot", "slow", [][]model.ModeID{{"lens.dirty", "laser.weak"}, {"disc.scratched", "disc.smeared"}}},
		{"tray", "tray-watch", "stops", [][]model.ModeID{{"belt.slack"}, {"lift.gummed"}, {"lift.jammed"}, {"tray-motor.worn"}}},
		{"tray", "tray-watch", "returns", [][]model.ModeID{{"switch.missed", "switch.dirty"}, {"belt.slack"}, {"lift.gummed"}}},
	} {
		m, err := Load(row.family)
		require.NoError(t, err)
		last := math.Inf(1)
		for _, modes := range row.order {
			p := 0.0
			for _, id := range modes {
				mode, ok := m.Mode(id)
				require.True(t, ok, id)
				p += mode.Prior * given(t, m, row.test, id, row.outcome)
			}
			assert.Less(t, p, last, "%s %s: %v comes later", row.test, row.outcome, modes)
			last = p
		}
	}
}
