package words

import (
	"maps"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The page's program has English alone in it.
func TestALanguageThatIsTakenIsTheOneThatWasInside(t *testing.T) {
	files, err := Files()
	require.NoError(t, err)
	assert.Len(t, files, len(languages)-1)
	whole := maps.Clone(inside)
	want := map[string]Texts{}
	for id := range whole {
		want[id] = textsOf(id)
	}
	defer func() {
		inside = whole
		clear(held.texts)
	}()
	inside = map[string]func() Texts{"en": english}
	clear(held.texts)
	for _, l := range languages[1:] {
		assert.False(t, Has(l.ID))
		assert.Equal(t, "€1.50", In(l.ID).Money(1.5, "EUR"), "without its words nothing of it is spoken")
		require.NoError(t, Take(files[l.ID+".txt"]))
		assert.Equal(t, want[l.ID], In(l.ID).texts)
	}
}

func TestWhatIsNoLanguagesFileIsRefused(t *testing.T) {
	for _, text := range []string{"", "de", "de\t", "de\t{}", "\t{\"app-name\":{}}", "de\t{\"app-name\"", "<!doctype html>"} {
		assert.ErrorIs(t, Take([]byte(text)), ErrFile, "%q", text)
	}
	assert.Equal(t, "Ein Fehler", In("de").Say(Faults, 1))
}

func TestAnOwnerIsKnownInEveryLanguage(t *testing.T) {
	for _, l := range languages {
		assert.True(t, IsOwner(In(l.ID).Owner()), l.Name)
	}
	assert.True(t, IsOwner("ITS OWNER"))
	assert.False(t, IsOwner("a belt"))
}
