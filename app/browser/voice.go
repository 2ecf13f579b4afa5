package browser

import "strings"

// A Voice is one of those that a browser reads aloud with.
type Voice struct {
	Lang    string // BCP 47, as in de-AT; some browsers write de_AT
	Local   bool   // it speaks without a network
	Default bool   // the one that the person's device prefers
}

// speaks reports whether the voice is for a language, given as en, de, es or ja.
func (v Voice) speaks(lang string) bool {
	tongue, _, _ := strings.Cut(strings.ReplaceAll(v.Lang, "_", "-"), "-")
	return strings.EqualFold(tongue, lang)
}

// VoiceFor returns which of the voices reads a language without a network, -1 if none does. What a
// device reads with over a network would send the step to somebody.
func VoiceFor(voices []Voice, lang string) int {
	found := -1
	for i, v := range voices {
		if v.Local && v.speaks(lang) && (found < 0 || v.Default && !voices[found].Default) {
			found = i
		}
	}
	return found
}

// Speaker is the part of a Device that reads aloud.
type Speaker interface {
	// WatchVoices calls f with the voices there are, and again whenever there are others: browsers
	// look for them while the page starts.
	WatchVoices(f func([]Voice))
	// Speak ends what is being read, and reads the texts one after the other with a voice of the device
	// itself. It calls done when they are read, were ended or could not be read. Without a voice it
	// calls done at once.
	Speak(lang string, texts []string, done func())
	// Hush ends what is being read.
	Hush()
}
