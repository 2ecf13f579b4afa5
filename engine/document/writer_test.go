package document

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAWriterLaysOutAsItIsTold(t *testing.T) {
	w := Writer{Indent: "  "}
	w.Object(true)
	w.Key("a").Int(1)
	w.Join().Key("b").Number(0.5)
	w.Key("c").Object(false).Key("x").Bool(true).Key("y").List(true).String("p").String("q").End()
	w.Break().Key("z").Raw("null").End()
	w.Key("d").List(true)
	w.Object(false).Key("n").Int(1).End()
	w.Object(false).End()
	w.End()
	w.Key("e").List(true).End()
	w.Key("f").Number(math.NaN())
	w.End()
	assert.Equal(t, `{
  "a": 1, "b": 0.5,
  "c": {"x": true, "y": ["p", "q"],
    "z": null},
  "d": [
    {"n": 1},
    {}
  ],
  "e": [],
  "f": null
}`, string(w.Bytes()))

	tight := Writer{Tight: true}
	tight.Object(false).Key("a").List(false).Int(1).Int(2).End().Key("b").String("x y").End()
	assert.Equal(t, `{"a":[1,2],"b":"x y"}`, string(tight.Bytes()))
}

// Whatever is written, in whatever layout, reads back as the same value: by the standard
// library, and by this package without a defect.
func TestWhatIsWrittenReadsBack(t *testing.T) {
	for seed := range uint64(400) {
		rng := rand.New(rand.NewPCG(seed, 3))
		w := Writer{Indent: []string{"", " ", "\t"}[rng.IntN(3)], Tight: rng.IntN(3) == 0}
		var value func(depth int) any
		value = func(depth int) any {
			kinds := 6
			if depth > 4 {
				kinds = 4
			}
			switch rng.IntN(kinds) {
			case 0:
				x := math.Float64frombits(rng.Uint64())
				w.Number(x)
				if math.IsNaN(x) || math.IsInf(x, 0) {
					return nil
				}
				return x
			case 1:
				i := rng.IntN(1<<40) - 1<<39
				w.Int(i)
				return float64(i)
			case 2:
				b := rng.IntN(2) == 0
				w.Bool(b)
				return b
			case 3:
				s := fmt.Sprintf("%c%c\"\\\n", rune(rng.IntN(0xd800)), rune(rng.IntN(0x250)))
				w.String(s)
				return s
			case 4:
				all := []any{}
				w.List(rng.IntN(2) == 0)
				for range rng.IntN(4) {
					all = append(all, value(depth+1))
				}
				w.End()
				return all
			}
			all := map[string]any{}
			w.Object(rng.IntN(2) == 0)
			for i := range rng.IntN(4) {
				if rng.IntN(3) == 0 {
					w.Join()
				} else if rng.IntN(3) == 0 {
					w.Break()
				}
				key := fmt.Sprint("k", i)
				w.Key(key)
				all[key] = value(depth + 1)
			}
			w.End()
			return all
		}
		want := value(0)
		var got any
		require.NoError(t, json.Unmarshal(w.Bytes(), &got), "%s", w.Bytes())
		require.Equal(t, want, got)
		r := NewReport(w.Bytes())
		_, ok := r.Read(wide)
		require.True(t, ok)
		require.Zero(t, r.Len(), "%s", w.Bytes())
	}
}
