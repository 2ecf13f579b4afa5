package oracle

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Everything in this file is worked by hand; the fractions are in the comments.

const coin = `{"format": "pitwise/model", "version": 1, "id": "coin", "revision": "1", "most_faults": 1,
 "setups": [{"id": "shut"}],
 "components": [{"id": "part", "modes": [{"id": "bad", "prior": 0.25}]}],
 "tests": [{"id": "look", "intake": true, "at": "shut", "minutes": 1, "money": 0,
   "outcomes": [{"id": "good"}, {"id": "poor"}], "healthy": [0.75, 0.25], "given": {"part.bad": [0.25, 0.75]}, "steadiness": 1}],
 "repairs": [{"id": "mend", "at": "shut", "minutes": 1, "money": 0, "fixes": {"part.bad": 0.5}, "risks": {"part.bad": 0.25}}]}`

func events(lines ...string) []byte {
	for i := range lines {
		lines[i] = fmt.Sprintf(`{"n": %d, %s}`, i+1, lines[i])
	}
	return []byte(`{"events": [` + strings.Join(lines, ",") + `]}`)
}

func account(t *testing.T, model string, lines ...string) *Account {
	t.Helper()
	a, err := Replay([]byte(model), events(lines...), Whole)
	require.NoError(t, err)
	return a
}

const poor = `"kind": "result", "test": "look", "outcome": "poor"`
const good = `"kind": "result", "test": "look", "outcome": "good"`
const mend = `"kind": "repair", "repair": "mend"`

func TestOneCoinFollowedByHand(t *testing.T) {
	a := account(t, coin, poor, poor, mend, good)
	bad := func(n int) float64 { return a.Lines[n].Belief.Modes["part.bad"] }

	assert.Equal(t, 0.25, bad(0))
	assert.Equal(t, 0.5, bad(1)) // 1/4*3/4 over 3/4*1/4 + 1/4*3/4
	assert.InDelta(t, 10*math.Log10(3), a.Lines[1].Decibans["part.bad"], 1e-14)
	assert.InDelta(t, math.Log(0.375), a.Lines[1].LogEvidence, 1e-15)
	// The repeat: (1/4+1)/2 = 5/8 if sound, (3/4+1)/2 = 7/8 if bad.
	assert.InDelta(t, 7.0/12, bad(2), 1e-15)
	assert.InDelta(t, 10*math.Log10(7.0/5), a.Lines[2].Decibans["part.bad"], 1e-14)
	assert.InDelta(t, math.Log(0.375*0.75), a.Lines[2].LogEvidence, 1e-15)
	// The repair: 7/24 stay bad; a quarter of the sound 17/24, freshly mended or not, go bad.
	assert.InDelta(t, 15.0/32, bad(3), 1e-15)
	assert.Nil(t, a.Lines[3].Decibans)
	// A fresh draw: good has 3/4 and 1/4.
	assert.InDelta(t, 5.0/22, bad(4), 1e-15)
	assert.InDelta(t, math.Log(0.375*0.75*33/64), a.Lines[4].LogEvidence, 1e-15)
	// Origin: 7/12 * (5/8*1/4 + 3/8*3/4) against 5/12 * (1/4*1/4 + 3/4*3/4).
	assert.InDelta(t, 49.0/99, a.Origin.Modes["part.bad"], 1e-15)
	assert.InDelta(t, 50.0/99, a.Origin.Sound, 1e-15)
	// Leaving out one poor result: bad 1/2, then 1/4 + 3/4*1/4 = 7/16 after the
	// repair, and good has 9/16*3/4 + 7/16*1/4 = 34/64.
	require.Len(t, a.Doubts, 3)
	assert.InDelta(t, 0.75*33/34, a.Doubts[0].P, 1e-15)
	assert.InDelta(t, 0.75*33/34, a.Doubts[1].P, 1e-15)
	assert.InDelta(t, 33.0/64, a.Doubts[2].P, 1e-15)
	assert.Equal(t, 4, a.Doubts[2].N)
	// Next: one good result on the new urn: if sound (3/4+1)/2, if bad (1/4+1)/2.
	assert.InDelta(t, 17.0/22*7/8+5.0/22*5/8, a.Next["look"][0], 1e-15)
}

// story is coin with a question to the owner, and a repair that remembers and risks nothing.
var story = strings.NewReplacer(`"tests": [`, `"tests": [{"id": "say", "told": true, "outcomes": [{"id": "good"}, {"id": "poor"}], "healthy": [0.75, 0.25], "given": {"part.bad": [0.25, 0.75]}, "steadiness": 1},`,
	`"risks": {"part.bad": 0.25}`, `"risks": {}, "steadiness": 1, "only_after": {"any": [{"test": "say", "outcomes": ["poor"]}]}`).Replace(coin)

func TestATellingThatComesLateActsFirst(t *testing.T) {
	a := account(t, story, poor, mend, mend, mend, `"kind": "result", "test": "say", "outcome": "poor"`, mend)
	bad := func(n int) float64 { return a.Lines[n].Belief.Modes["part.bad"] }
	assert.Equal(t, 0.5, bad(1))
	// The repair removes 1/2, then 1/2 of 1/(1+1), then of 1/(1+2).
	assert.InDelta(t, 1.0/4, bad(2), 1e-15)
	assert.InDelta(t, 3.0/16, bad(3), 1e-15)
	assert.InDelta(t, 5.0/32, bad(4), 1e-15)
	// Told first: 1/2, then 3/4 by the look, then 3/8, 9/32, 15/64 by the repairs.
	assert.InDelta(t, 15.0/64, bad(5), 1e-15)
	// Odds of 15/49 after 5/27.
	assert.InDelta(t, 10*math.Log10(81.0/49), a.Lines[5].Decibans["part.bad"], 1e-13)
	// 3/8 for what was told, 1/2 for the look after it.
	assert.InDelta(t, math.Log(3.0/16), a.Lines[5].LogEvidence, 1e-15)
	// The fourth try: 1/2 of 1/(1+3).
	assert.InDelta(t, 15.0/64*7/8, bad(6), 1e-15)
	assert.InDelta(t, 3.0/4, a.Origin.Modes["part.bad"], 1e-15)
	assert.Equal(t, []Doubt{{1, 0.5}, {5, 0.5}}, a.Doubts)
	assert.Equal(t, map[string]map[string]int{"mend": {"part.bad": 4}}, a.Tries)
	assert.Equal(t, map[string]string{"look": "poor", "say": "poor"}, a.Seen)
	var warned []int
	for _, w := range a.Warnings {
		warned = append(warned, w.N)
	}
	assert.Equal(t, []int{2, 3, 4}, warned, "done before the owner said anything")
	// No repair touches what was told: (3/4+1)/2 if bad, (1/4+1)/2 if not.
	p := 15.0 / 64 * 7 / 8
	assert.InDelta(t, p*7/8+(1-p)*5/8, a.Next["say"][1], 1e-15)
}

func TestARepairThatMayBringTheFaultInBeginsAnew(t *testing.T) {
	remembers := strings.Replace(coin, `"risks": {"part.bad": 0.25}`, `"risks": {"part.bad": 0.25}, "steadiness": 1`, 1)
	a, b := account(t, coin, poor, mend, mend, good), account(t, remembers, poor, mend, mend, good)
	assert.Equal(t, a.Lines, b.Lines)
	assert.Equal(t, map[string]map[string]int{"mend": {"part.bad": 0}}, b.Tries)
}

const pair = `{"most_faults": 1,
 "setups": [{"id": "left", "inside": "top", "leave": {"risks": {"b.bad": 0.5}}, "enter": {}},
            {"id": "top"},
            {"id": "right", "inside": "top", "enter": {"fixes": {"a.bad": 1}}, "leave": {"risks": {"a.bad": 1}}},
            {"id": "deep", "inside": "right", "enter": {}, "leave": {}}],
 "components": [{"id": "a", "modes": [{"id": "bad", "prior": 0.25}]}, {"id": "b", "modes": [{"id": "bad", "prior": 0.25}]}],
 "tests": [{"id": "look", "at": "deep", "outcomes": [{"id": "good"}, {"id": "poor"}], "healthy": [0.5, 0.5], "given": {"a.bad": [0.125, 0.875]}, "steadiness": 2},
           {"id": "idle", "at": "top", "outcomes": [{"id": "good"}, {"id": "poor"}], "healthy": [0.5, 0.5], "given": {}, "steadiness": 2}],
 "repairs": [{"id": "swap", "at": "top", "fixes": {}, "risks": {"a.bad": 0, "b.bad": 1}}]}`

func TestWhatHasTooManyFaultsIsCutAndCounted(t *testing.T) {
	a := account(t, pair, `"kind": "setup", "setup": "left"`, `"kind": "setup", "setup": "left"`, `"kind": "setup", "setup": "deep"`)
	// 9 : 3 : 3, and 1/16 of two faults dropped.
	assert.InDelta(t, 9.0/15, a.Lines[0].Belief.Sound, 1e-15)
	assert.InDelta(t, 1.0/16, a.Lines[0].Dropped, 1e-15)
	assert.Equal(t, "top", a.Lines[0].Setup)
	assert.Equal(t, a.Lines[1].Belief, a.Lines[0].Belief)
	assert.Equal(t, a.Lines[2], Line{N: 2, Kind: "setup", Live: true, Belief: a.Lines[1].Belief, Dropped: a.Lines[1].Dropped, Setup: "left"})
	// Out of left: half of the sound 0.6 get b; half of a's 0.2 would have two faults and
	// are cut: 0.3, a 0.1, b 0.5 of 0.9. Into right: a is fixed: 4/9 and 5/9. Into deep.
	assert.InDelta(t, 4.0/9, a.Lines[3].Belief.Sound, 1e-15)
	assert.Equal(t, 0.0, a.Lines[3].Belief.Modes["a.bad"])
	assert.InDelta(t, 5.0/9, a.Lines[3].Belief.Modes["b.bad"], 1e-15)
	assert.InDelta(t, 1.0/16+0.1, a.Lines[3].Dropped, 1e-15)
	assert.Equal(t, "deep", a.Lines[3].Setup)
	assert.Equal(t, 0.0, a.Lines[3].LogEvidence, "a cut is not evidence")
	// Origin: of the 0.9 kept 0.6 began sound, 0.1 with a, 0.2 with b.
	assert.InDelta(t, 6.0/9, a.Origin.Sound, 1e-15)
	assert.InDelta(t, 1.0/9, a.Origin.Modes["a.bad"], 1e-15)
	assert.InDeltaSlice(t, []float64{6.0 / 9, 3.0 / 9}, a.Origin.Faults, 1e-15)
}

func TestNothingLeftIsAnError(t *testing.T) {
	// Into right, a is fixed; out of it, a is certain; then b enters as well, always.
	_, err := Replay([]byte(pair), events(`"kind": "setup", "setup": "right"`, `"kind": "setup", "setup": "top"`, `"kind": "repair", "repair": "swap"`), Whole)
	require.ErrorIs(t, err, ErrNothingLeft)
}

func TestATestIsTouchedByTheModesOfAChangeThoughTheirOddsAreNil(t *testing.T) {
	look, idle := `"kind": "result", "test": "look", "outcome": "good"`, `"kind": "result", "test": "idle", "outcome": "good"`
	a := account(t, pair, look, idle, `"kind": "repair", "repair": "swap"`, look, idle)
	// swap may bring in a.bad with probability 0, so look starts afresh. All that is left
	// is b alone (a alone would have two faults): look 1/2, and idle, not touched, 2/3.
	assert.InDelta(t, 1.0, a.Lines[3].Belief.Modes["b.bad"], 1e-15)
	assert.InDelta(t, math.Log(0.5), a.Lines[4].LogEvidence-a.Lines[3].LogEvidence, 1e-14)
	assert.InDelta(t, math.Log(2.0/3), a.Lines[5].LogEvidence-a.Lines[4].LogEvidence, 1e-14)
	assert.Equal(t, []int{1}, []int{a.Warnings[0].N})
	assert.Len(t, a.Warnings, 2, "look belongs to deep, both times")
	assert.Empty(t, a.Lines[4].Decibans, "no mode is in doubt any more")
	assert.NotNil(t, a.Lines[4].Decibans)
	assert.Equal(t, 0.0, a.Lines[2].Decibans["a.bad"], "idle tells nothing")
}

func TestVoidsActOnTheWholeTrail(t *testing.T) {
	void := func(n int) string { return fmt.Sprintf(`"kind": "void", "of": %d, "reason": ""`, n) }
	a := account(t, coin, poor, good, void(1), mend, void(4))
	plain := account(t, coin, good)
	assert.Equal(t, []bool{false, true, true, false, true}, live(a))
	assert.Equal(t, plain.Lines[0].Belief, a.Lines[1].Belief)
	assert.Nil(t, a.Lines[1].Decibans)
	for n := 2; n <= 5; n++ {
		assert.Equal(t, plain.Lines[1].Belief, a.Lines[n].Belief)
	}
	assert.Equal(t, plain.Origin, a.Origin)
	require.Len(t, a.Doubts, 1)
	assert.Equal(t, plain.Doubts[0].P, a.Doubts[0].P)

	back := account(t, coin, poor, good, void(1), void(3))
	assert.Equal(t, []bool{true, true, false, true}, live(back))
	twice := account(t, coin, poor, void(1), void(1), void(3))
	assert.Equal(t, []bool{false, true, false, true}, live(twice), "the other void still names it")
	chain := account(t, coin, poor, void(1), void(2), void(3), void(4))
	assert.Equal(t, []bool{true, false, true, false, true}, live(chain))
}

func live(a *Account) []bool {
	var out []bool
	for _, line := range a.Lines[1:] {
		out = append(out, line.Live)
	}
	return out
}

// The example model of the format's page, cut to what is needed.
const page = `{"most_faults": 2, "setups": [{"id": "closed"}],
 "components": [{"id": "lid", "modes": [{"id": "misaligned", "prior": 0.08}]}, {"id": "lens", "modes": [{"id": "dirty", "prior": 0.20}]}, {"id": "supply", "modes": [{"id": "low", "prior": 0.03}]}],
 "tests": [{"id": "first-boot", "at": "closed", "outcomes": [{"id": "boots"}, {"id": "asks"}, {"id": "still"}], "healthy": [0.97, 0.02, 0.01],
     "given": {"lens.dirty": [0.30, 0.65, 0.05], "lid.misaligned": [0.05, 0.05, 0.90], "supply.low": [0.10, 0.30, 0.60]}, "steadiness": 3},
   {"id": "rail", "at": "closed", "reading": {"unit": "V", "nominal": 5.0, "percent": 0.8, "absolute": 0.02},
     "outcomes": [{"id": "right", "from": 4.75, "to": 5.25}, {"id": "low", "to": 4.75}, {"id": "high", "from": 5.25}],
     "healthy": [0.98, 0.01, 0.01], "given": {"supply.low": [0.03, 0.96, 0.01]}, "steadiness": 1}],
 "repairs": []}`

func TestTheOutcomeLawByHand(t *testing.T) {
	m, err := Load([]byte(page))
	require.NoError(t, err)
	assert.InDelta(t, 0.08*0.2*0.03, float(m.dropped), 1e-15)
	assert.Len(t, m.kept, 7)
	assert.InDeltaSlice(t, []float64{0.97, 0.02, 0.01}, m.Outcomes("first-boot"), 1e-15)
	assert.InDeltaSlice(t, []float64{0.30, 0.65, 0.05}, m.Outcomes("first-boot", "lens.dirty"), 1e-15)
	// F = 0.97*(0.30/0.97)*(0.05/0.97), 0.99*(0.95/0.99)*(0.10/0.99), 1.
	f0, f1 := 0.015/0.97, 0.095/0.99
	assert.InDeltaSlice(t, []float64{f0, f1 - f0, 1 - f1}, m.Outcomes("first-boot", "lens.dirty", "lid.misaligned"), 1e-15)
	// A mode that is not listed has no effect.
	assert.Equal(t, m.Outcomes("rail"), m.Outcomes("rail", "lid.misaligned"))
}

func TestAReadingOnTheBorderCountsHalf(t *testing.T) {
	m, err := Load([]byte(page))
	require.NoError(t, err)
	w := m.Weights("rail", 4.75)
	assert.InDelta(t, 0.5, w[0], 1e-15)
	assert.InDelta(t, 0.5, w[1], 1e-15)
	// u = (0.008*4.75 + 0.02)/sqrt(3) = 0.058/sqrt(3); the upper border is 0.5/u = 14.93 u off.
	assert.InEpsilon(t, 0.5*math.Erfc(0.5/(0.058/math.Sqrt(3))/math.Sqrt2), w[2], 1e-12)
}

func TestAMeterWithoutErrorPutsItsReadingInOneInterval(t *testing.T) {
	m, err := Load([]byte(strings.ReplaceAll(page, `"percent": 0.8, "absolute": 0.02`, `"percent": 0, "absolute": 0`)))
	require.NoError(t, err)
	assert.Equal(t, []float64{1, 0, 0}, m.Weights("rail", 4.75), "from is inclusive")
	assert.Equal(t, []float64{0, 0, 1}, m.Weights("rail", 5.25), "to is exclusive")
	assert.Equal(t, []float64{0, 1, 0}, m.Weights("rail", math.Nextafter(4.75, 0)))
}

// The format's own sum: over every assignment of an outcome to each result.
func TestTheUrnIsTheSumOverAllAssignments(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	m, err := Load([]byte(page))
	require.NoError(t, err)
	for _, one := range m.Tests {
		urn := newUrn(m)
		var all [][]num
		for n := 1; n <= 5; n++ {
			weights := []num{exact(rng.Float64()), exact(rng.Float64()), exact(rng.Float64())}
			if n == 3 {
				weights = one.named(one.Outcomes[1].ID)
			}
			all = append(all, weights)
			urn = urn.with(m, one, weights)
			for h, p := range m.law(one) {
				want := zero()
				for code := range int(math.Pow(3, float64(n))) {
					term, counts := whole(1), make([]int, 3)
					for i := range n {
						term = mul(term, all[i][code%3])
						counts[code%3]++
						code /= 3
					}
					kappa := exact(one.Steadiness)
					for o, c := range counts {
						for j := range c {
							term = mul(term, add(mul(kappa, p[o]), whole(j)))
						}
					}
					for j := range n {
						term = quo(term, add(kappa, whole(j)))
					}
					want = add(want, term)
				}
				near(t, want.Text('g', 60), urn.joint[h], 50)
			}
		}
	}
}

func TestThePrintedLinesHaveTheFieldsOfTheFormat(t *testing.T) {
	a := account(t, coin, poor, `"kind": "note", "text": ""`)
	text, err := a.Print()
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	require.Len(t, lines, 4)
	assert.JSONEq(t, `{"n": 0, "kind": "start", "live": true, "belief": {"sound": 0.75, "modes": {"part.bad": 0.25}, "faults": [0.75, 0.25]}, "log_evidence": 0, "dropped": 0, "setup": "shut"}`, lines[0])
	var last map[string]any
	require.NoError(t, json.Unmarshal([]byte(lines[3]), &last))
	assert.Len(t, last, 3)
	assert.Contains(t, lines[1], `"decibans":{"part.bad":4.77121254719662`)
	assert.NotContains(t, lines[2], "decibans")
}
