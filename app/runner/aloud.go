package runner

import (
	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/app/words"
)

// hear tells the page in which of its languages the device can read aloud by itself.
func (r *Runner) hear(voices []browser.Voice) {
	var langs []string
	for _, l := range words.Languages() {
		if browser.VoiceFor(voices, l.ID) >= 0 {
			langs = append(langs, l.ID)
		}
	}
	r.Send(state.VoicesKnown{Langs: langs})
}

func (r *Runner) speak(e state.Speak) {
	r.Device.Speak(e.Lang, e.Texts, func() { r.Send(state.ReadOut{Turn: e.Turn}) })
}
