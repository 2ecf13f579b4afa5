//go:build !js

package stories

import (
	"encoding/base64"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/runner"
	"pitwise/app/state"
)

// TestWhatAPageAsksForIsWhatItWouldWorkOut tells a story, and then as a page does that asks for what came of it.
func TestWhatAPageAsksForIsWhatItWouldWorkOut(t *testing.T) {
	story, ok := Find("odds-tray")
	require.True(t, ok)
	served := func(name, key string) []byte {
		w := httptest.NewRecorder()
		Serve(w, httptest.NewRequest("GET", AskedAt+"?story="+name+"&key="+key, nil))
		answer, err := base64.StdEncoding.DecodeString(w.Body.String())
		require.NoError(t, err)
		return answer
	}
	before, wasTold := results, told
	t.Cleanup(func() { results, told, Ask, alone = before, wasTold, nil, 0 })

	results, told = map[string]any{}, map[string]state.State{}
	here := story.State()
	n := len(results)
	require.Greater(t, n, 1)
	answers := map[string][]byte{}
	for key := range results {
		answers[key] = served(story.Name, key)
	}
	assert.Empty(t, served("no-such-story", "key"))
	assert.Empty(t, served(story.Name, "no-such-key"))

	results, told = map[string]any{}, map[string]state.State{}
	Ask = func(name, key string) []byte {
		assert.Equal(t, story.Name, name)
		return answers[key]
	}
	there := story.State()
	assert.Zero(t, Alone())
	assert.Equal(t, runner.ToWire(here.Unit.Account), runner.ToWire(there.Unit.Account))
	assert.Equal(t, runner.ToWire(here.Unit.Proposals), runner.ToWire(there.Unit.Proposals)) // in which NaN is the same as NaN
	assert.NotEmpty(t, there.Unit.Proposals)
	assert.Equal(t, here.Unit.Origin, there.Unit.Origin)
	assert.Equal(t, here.Unit.Doubts, there.Unit.Doubts)

	results, told = map[string]any{}, map[string]state.State{}
	Ask = func(string, string) []byte { return nil }
	assert.Equal(t, runner.ToWire(here.Unit.Proposals), runner.ToWire(story.State().Unit.Proposals))
	assert.Equal(t, n, Alone())
}
