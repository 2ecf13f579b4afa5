package trail

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// anyText returns a text with all that makes trouble in files.
func anyText(rng *rand.Rand) string {
	pieces := []string{"", "plain words", `"quoted"`, `\`, "\n\r\t\x00\x7f", "é€😀", "\u2028\u2029\u202e\uFEFF\uFFFD", "</script>", "=1+1", "a\x1fb"}
	s := ""
	for range rng.IntN(4) {
		s += pieces[rng.IntN(len(pieces))]
	}
	return s
}

// anyNumber returns any finite float64 that is at least 0.
func anyNumber(rng *rand.Rand) float64 {
	for {
		if x := math.Abs(math.Float64frombits(rng.Uint64())); !math.IsNaN(x) && !math.IsInf(x, 0) {
			return x
		}
	}
}

func anyTrail(rng *rand.Rand) *Trail {
	t := &Trail{
		ID: "t" + anyText(rng), Created: "2026-03-04T10:11:12Z",
		Model: ModelRef{ID: "m", Revision: anyText(rng), SHA256: digest},
		Unit:  Unit{Label: anyText(rng), Notes: anyText(rng)},
		Terms: Terms{MinuteValue: anyNumber(rng), Currency: "EUR", WorkingValue: anyNumber(rng), AsIsValue: anyNumber(rng), ComebackCost: anyNumber(rng)},
	}
	for range rng.IntN(3) {
		t.Terms.Tools = append(t.Terms.Tools, "tool")
	}
	if rng.IntN(2) == 0 {
		t.ModelText = "x" + anyText(rng)
		sum := sha256.Sum256([]byte(t.ModelText))
		t.Model.SHA256 = hex.EncodeToString(sum[:])
	}
	if rng.IntN(4) == 0 {
		t.Terms.Exchange = math.SmallestNonzeroFloat64 + anyNumber(rng)
	}
	for n := 1; n <= rng.IntN(12); n++ {
		e := Event{N: n, At: "2026-03-04T10:11:12.5+01:00", Kind: []Kind{Result, Result, Setup, Repair, Skip, Note, Void, End, NewTerms, Wait}[rng.IntN(10)]}
		if e.Kind == Void && n == 1 {
			e.Kind = Note
		}
		switch e.Kind {
		case Result:
			e.Test = "t"
			if rng.IntN(2) == 0 {
				e.Outcome = "o"
			} else {
				x := anyNumber(rng)
				if rng.IntN(2) == 0 {
					x = -x
				}
				e.Reading = &x
			}
		case Setup:
			e.Setup = "s"
		case Repair:
			e.Repair = "r"
		case Skip:
			e.Test, e.Reason = "t", anyText(rng)
		case Note:
			e.Text = anyText(rng)
		case Void:
			e.Of, e.Reason = 1+rng.IntN(n-1), anyText(rng)
		case NewTerms:
			e.Terms = &Terms{MinuteValue: anyNumber(rng), Currency: "USD", WorkingValue: anyNumber(rng), Exchange: 1 + anyNumber(rng)}
		case Wait:
			e.For = anyText(rng)
		case End:
			e.As = []Ending{SignedOff, WrittenOff, Returned}[rng.IntN(3)]
			for range rng.IntN(3) {
				e.Causes = append(e.Causes, "c.m")
			}
		}
		t.Events = append(t.Events, e)
	}
	return t
}

func TestWhatIsEncodedLoadsAsTheSameTrail(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 2000 {
		want := anyTrail(rng)
		text := want.Encode()
		got, err := Load(text)
		require.NoError(t, err, "%s", text)
		require.Equal(t, want, got)
		require.Equal(t, string(text), string(got.Encode()))
		require.True(t, json.Valid(text), "the standard library reads it too")
	}
}

func TestATrailIsWrittenAsTheFirstVersionThatCanHoldIt(t *testing.T) {
	tr, err := Load(edited(t, second))
	require.NoError(t, err)
	assert.Equal(t, exampleText, string(tr.Encode()), "nothing of version 2 is used")
	for name, use := range map[string]func(t *Trail){
		"an exchange": func(t *Trail) { t.Terms.Exchange = 1 },
		"other terms": func(t *Trail) {
			t.Events[5] = Event{N: 6, At: t.Created, Kind: NewTerms, Terms: &Terms{Currency: "EUR"}}
		},
		"a wait": func(t *Trail) { t.Events[5] = Event{N: 6, At: t.Created, Kind: Wait, For: "a lens"} },
	} {
		t.Run(name, func(t *testing.T) {
			tr, err := Load([]byte(exampleText))
			require.NoError(t, err)
			use(tr)
			assert.Contains(t, string(tr.Encode()), `"version": 2`)
			again, err := Load(tr.Encode())
			require.NoError(t, err)
			assert.Equal(t, tr, again)
		})
	}
}

func TestZeroKeepsItsSign(t *testing.T) {
	tr, err := Load(edited(t, change{`4.74`, `-0.0`}))
	require.NoError(t, err)
	again, err := Load(tr.Encode())
	require.NoError(t, err)
	assert.True(t, math.Signbit(*again.Events[2].Reading))
}

func TestAnEventEncodesAsItStandsInTheFile(t *testing.T) {
	tr, err := Load([]byte(exampleText))
	require.NoError(t, err)
	for i := range tr.Events {
		line := string(tr.Events[i].Encode())
		assert.Contains(t, exampleText, "    "+line)
		assert.NotContains(t, line, "\n")
	}
}

func TestATrailThatNoFileCanHoldIsRefusedWhenItIsLoaded(t *testing.T) {
	tr, err := Load([]byte(exampleText))
	require.NoError(t, err)
	inf, nan := math.Inf(1), math.NaN()
	tr.Terms.WorkingValue = nan
	tr.Events[2].Reading = &inf
	tr.Unit.Label = "a\xffb"
	_, err = Load(tr.Encode())
	assert.Equal(t, []string{`terms.working_value: null, want a number`, `events[2].reading: null, want a number`}, defectLines(t, err))
}

func FuzzTrail(f *testing.F) {
	f.Add([]byte(exampleText))
	for _, events := range []string{``, `{"n":1,"at":"2026-03-04T10:11:12Z","kind":"note","text":""}`, `{"n":1,"at":"2026-03-04T10:11:12Z","kind":"result","test":"rail","reading":1}`} {
		f.Add([]byte(`{"format":"pitwise/trail","version":1,"id":"a","created":"2026-03-04T10:11:12Z","model":{"id":"a","revision":"","sha256":"` + digest + `"},` +
			`"unit":{"label":""},"terms":{"minute_value":0,"currency":"EUR","working_value":0,"as_is_value":0,"comeback_cost":0},"events":[` + events + `]}`))
	}
	for _, events := range []string{`{"n":1,"at":"2026-03-04T10:11:12Z","kind":"wait","for":"a part"}`, `{"n":1,"at":"2026-03-04T10:11:12Z","kind":"terms","terms":` + otherTerms + `}`} {
		f.Add([]byte(`{"format":"pitwise/trail","version":2,"id":"a","created":"2026-03-04T10:11:12Z","model":{"id":"a","revision":"","sha256":"` + digest + `"},` +
			`"unit":{"label":""},"terms":` + otherTerms + `,"events":[` + events + `]}`))
	}
	f.Add([]byte(`{"events":[{"n":1,"kind":"void","of":1},{"kind":"end","as":"x","causes":["a.b"]},{"kind":"skip"}]}`))
	f.Add([]byte(`{"model_text":"x","model":{"sha256":"` + digest + `"}}`))
	rng := rand.New(rand.NewPCG(9, 10))
	for range 5 {
		f.Add(anyTrail(rng).Encode())
	}
	m := exampleModel(f)
	f.Fuzz(func(t *testing.T, text []byte) {
		tr, err := Load(text)
		if err != nil {
			require.Nil(t, tr)
			var defects Defects
			require.ErrorAs(t, err, &defects)
			require.NotEmpty(t, defects.List)
			return
		}
		require.Len(t, tr.Live(), len(tr.Events))
		if err := tr.Check(m); err != nil {
			require.ErrorIs(t, err, ErrInvalid)
		}
		// The file may say the same in other words, but then what it says
		// is kept.
		once := tr.Encode()
		again, err := Load(once)
		require.NoError(t, err, "%s", once)
		require.Equal(t, tr, again)
	})
}
