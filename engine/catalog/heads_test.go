package catalog

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestHeadsAreThoseOfTheModels(t *testing.T) {
	want := Models()
	for i := range want {
		want[i].SHA256 = ""
	}
	assert.NotEmpty(t, want)
	assert.Equal(t, want, Heads())
	for _, text := range []string{"", "[]", `{"id": "x"`, `{"id": 1, "title": "t"}`, `{"id": "x", "revision": "1"}`} {
		_, ok := headOf([]byte(text))
		assert.False(t, ok, text)
	}
}
