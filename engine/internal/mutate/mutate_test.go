package mutate

import (
	"encoding/json"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestWhatComesOutIsJSONAndMostlyDiffers(t *testing.T) {
	const text = `{"a": [1, 2.5, {"b": "x"}], "c": null, "d": true}`
	rng := rand.New(rand.NewPCG(1, 1))
	differ := 0
	for range 500 {
		out := Document(rng, []byte(text), 1)
		if !assert.True(t, json.Valid(out)) {
			return
		}
		if !assert.ObjectsAreEqual(parsed(text), parsed(string(out))) {
			differ++
		}
	}
	assert.Greater(t, differ, 400)
	assert.Equal(t, Document(rand.New(rand.NewPCG(2, 2)), []byte(text), 9), Document(rand.New(rand.NewPCG(2, 2)), []byte(text), 9))
}

func TestTextLosesAndGainsLetters(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	came := map[string]bool{}
	for range 500 {
		came[Text(rng, "ab", "xy", 1)] = true
	}
	for _, want := range []string{"ab", "a", "b", "xab", "axb", "aby", "xb", "ay"} {
		assert.Contains(t, came, want)
	}
	assert.Len(t, came, 13, "as it was, 2 shorter, 4 as long, 6 longer")
	assert.Equal(t, Text(rand.New(rand.NewPCG(2, 2)), "abc", "xyz", 9), Text(rand.New(rand.NewPCG(2, 2)), "abc", "xyz", 9))
}

func parsed(text string) (v any) {
	if json.Unmarshal([]byte(text), &v) != nil {
		return text // 1e999
	}
	return v
}
