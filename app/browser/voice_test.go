package browser

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestAVoiceIsTheDevicesOwnAndOfTheLanguage(t *testing.T) {
	network := Voice{Lang: "en-GB", Default: true}
	english, german := Voice{Lang: "en-US", Local: true}, Voice{Lang: "de_AT", Local: true}
	for _, c := range []struct {
		name   string
		voices []Voice
		lang   string
		want   int
	}{
		{"none at all", nil, "en", -1},
		{"only one that needs a network", []Voice{network}, "en", -1},
		{"the device's own before the preferred one of the network", []Voice{network, english}, "en", 1},
		{"the one of the language, with a line below", []Voice{english, german}, "de", 1},
		{"none of the language", []Voice{english, german}, "ja", -1},
		{"a language whose name begins alike", []Voice{{Lang: "est-EE", Local: true}}, "es", -1},
		{"the preferred one of two", []Voice{english, {Lang: "EN", Local: true, Default: true}}, "en", 1},
	} {
		t.Run(c.name, func(t *testing.T) { assert.Equal(t, c.want, VoiceFor(c.voices, c.lang)) })
	}
}
