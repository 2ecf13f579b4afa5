package runner_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/app/browser"
	"pitwise/app/state"
)

func TestAStepIsReadWithTheDevicesOwnVoice(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	b.device.Hears([]browser.Voice{{Lang: "en-US"}, {Lang: "de-DE", Local: true}})
	b.until("it is known which languages there are", func(s state.State) bool { return s.Speech.Can("de") && !s.Speech.Can("en") })
	b.device.Hears([]browser.Voice{{Lang: "en-US", Local: true}})
	b.until("the voices changed", func(s state.State) bool { return s.Speech.Can("en") && !s.Speech.Can("de") })

	b.send(state.ReadAloud{Texts: []string{"Mains inside", "Clean the lens"}})
	b.until("it is read", func(s state.State) bool { return s.Speech.On })
	b.device.Lock()
	assert.Equal(t, [][]string{{"Mains inside", "Clean the lens"}}, b.device.Spoken)
	b.device.Unlock()
	assert.True(t, b.device.EndSpeech())
	b.until("it is over", func(s state.State) bool { return !s.Speech.On })
	b.send(state.ReadAloud{Texts: []string{"Clean the lens"}})
	b.send(state.StopAloud{})
	s := b.until("it was ended", func(s state.State) bool { return !s.Speech.On })
	assert.False(t, b.device.EndSpeech(), "nothing is being read")
	assert.Equal(t, 2, s.Speech.Turn)
}
