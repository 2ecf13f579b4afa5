package site

import (
	"encoding/binary"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// wasm is a program by hand: one import, three functions of 3, 5 and 2 bytes, 7 bytes of
// data, and their names.
func wasm() []byte {
	text := func(s string) []byte { return append([]byte{byte(len(s))}, s...) }
	section := func(kind byte, parts ...[]byte) []byte {
		var body []byte
		for _, p := range parts {
			body = append(body, p...)
		}
		return append(binary.AppendUvarint([]byte{kind}, uint64(len(body))), body...)
	}
	name := func(i byte, s string) []byte { return append([]byte{i}, text(s)...) }
	b := append([]byte("\x00asm"), 1, 0, 0, 0)
	b = append(b, section(sectionImport, []byte{1}, text("gojs"), text("runtime.wasmExit"), []byte{0, 0})...)
	b = append(b, section(sectionCode, []byte{3}, []byte{3, 1, 2, 3}, []byte{5, 1, 2, 3, 4, 5}, []byte{2, 1, 2})...)
	b = append(b, section(sectionData, make([]byte, 7))...)
	functions := section(1, []byte{3}, name(1, "pitwise_app_view.__Page_.Render"), name(2, "runtime.mallocgc"), name(3, "pitwise_app_view.init"))
	return append(b, section(sectionCustom, text("name"), functions)...)
}

func TestSharesAreCountedByPackage(t *testing.T) {
	code, data, err := shares(wasm())
	require.NoError(t, err)
	assert.Equal(t, []Share{{"pitwise/app/view", 5}, {"runtime", 5}}, code)
	assert.Equal(t, 7, data)
	for cut := range len(wasm()) {
		_, _, err := shares(wasm()[:cut])
		assert.ErrorIs(t, err, errWasm, "cut to %d bytes", cut)
	}
}

func TestPackageOf(t *testing.T) {
	for name, want := range map[string]string{
		"github.com_maxence_charriere_go_app_v9_pkg_app.Event.Pre": "go-app",
		"type_.eq.pitwise_app_state.PhotoTaken":                    "pitwise/app/state",
		"type_.eq._5_pitwise_engine_document.Field":                "pitwise/engine/document",
		"slices.partitionCmpFunc_go.shape.struct___N_int__":        "slices",
	} {
		assert.Equal(t, want, packageOf(name))
	}
}
