package document

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestTheFormatOfAFileIsReadAsFarAsItCanBe(t *testing.T) {
	for text, want := range map[string]string{
		`{"format": "pitwise/model", "version": 1}`:       "pitwise/model",
		`{"version": 1, "format": "pitwise/trail"}`:       "pitwise/trail",
		`{"a": {"format": "x"}, "format": "y", "b": [1,}`: "y",
		`{"format": "pitwise/model", "version": `:         "pitwise/model",
		`{"format": "pitwise/model"`:                      "pitwise/model",
		`{"format": "pitwise/mod`:                         "",
		`{"format": 7}`:                                   "",
		`{"Format": "pitwise/model"}`:                     "",
		`[{"format": "pitwise/model"}]`:                   "",
		``:                                                "",
		`{`:                                               "",
		`{"format`:                                        "",
		`{"format"`:                                       "",
		`{"format":`:                                      "",
		"\xff":                                            "",
		`{"format": "pitwise/model", "format": "another"}`: "pitwise/model",
	} {
		assert.Equal(t, want, Format([]byte(text), wide), text)
	}
}
