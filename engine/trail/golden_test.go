package trail_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/random"
)

const goldenLines = "testdata/random.golden.jsonl"

// TestEveryMachineWorksOutTheSame holds the lines of random trails to those that amd64 has
// written (PITWISE_RENEW=1): every number to 1e-12, as a part of it where it is above 1.
// The wasm part of the tests runs it too. Twice in a row it must be the same to the bit.
func TestEveryMachineWorksOutTheSame(t *testing.T) {
	var all bytes.Buffer
	for seed := range uint64(24) { // from 16 on with what version 2 brought
		rng := rand.New(rand.NewPCG(seed, 900))
		size := random.Size{Components: 4, Modes: 3, Tests: 4, Outcomes: 4, Repairs: 3, Setups: 3, Extreme: seed%2 == 0, Second: seed >= 16}
		modelText := random.Model(rng, size)
		text := random.Trail(rng, modelText, random.Length{Events: 15, Second: seed >= 16})
		var twice [2]bytes.Buffer
		for i := range twice {
			s, tr := open(t, modelText, text)
			r := play(t, s, tr)
			require.NoError(t, r.account.WriteLines(&twice[i], s.Model(), r.origin, r.doubts))
		}
		require.Equal(t, twice[0].String(), twice[1].String(), "seed %d", seed)
		all.Write(twice[0].Bytes())
	}
	if os.Getenv("PITWISE_RENEW") != "" && runtime.GOARCH == "amd64" {
		require.NoError(t, os.WriteFile(goldenLines, all.Bytes(), 0o644))
		return
	}
	golden, err := os.ReadFile(goldenLines)
	require.NoError(t, err)
	want, got := bytes.Split(golden, []byte("\n")), bytes.Split(all.Bytes(), []byte("\n"))
	require.Len(t, got, len(want))
	numbers, same := 0, 0
	for i := range want {
		if len(want[i]) == 0 {
			continue
		}
		var w, g any
		require.NoError(t, json.Unmarshal(want[i], &w))
		require.NoError(t, json.Unmarshal(got[i], &g))
		nearly(t, fmt.Sprintf("line %d", i), w, g, &numbers, &same)
	}
	assert.Greater(t, numbers, 2000)
	t.Logf("%s: %d numbers, %d of them the same to the bit", runtime.GOARCH, numbers, same)
}

func nearly(t *testing.T, place string, want, got any, numbers, same *int) {
	t.Helper()
	switch w := want.(type) {
	case float64:
		g, ok := got.(float64)
		*numbers++
		if w == g {
			*same++
		}
		assert.True(t, ok && math.Abs(w-g) <= 1e-12*max(1, math.Abs(w)), "%s: %v, want %v", place, got, w)
	case map[string]any:
		g, _ := got.(map[string]any)
		require.Len(t, g, len(w), place)
		for k := range w {
			nearly(t, place+"."+k, w[k], g[k], numbers, same)
		}
	case []any:
		g, _ := got.([]any)
		require.Len(t, g, len(w), place)
		for i := range w {
			nearly(t, fmt.Sprintf("%s[%d]", place, i), w[i], g[i], numbers, same)
		}
	default:
		assert.Equal(t, want, got, place)
	}
}
