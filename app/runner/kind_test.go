package runner

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/app/browser"
	"pitwise/app/state"
)

func TestWhatARefusedFileIs(t *testing.T) {
	for _, c := range []struct {
		name string
		file browser.File
		want state.FileKind
	}{
		{"a photograph, by its head", browser.File{Text: "\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01"}, state.FilePicture},
		{"one whose bytes came as replacement characters", browser.File{Text: "\ufffd\ufffd\ufffd\ufffd\x00\x10JFIF"}, state.FilePicture},
		{"a picture in another form, by what the browser calls it", browser.File{Type: "image/bmp", Text: "BM\x00\x00"}, state.FilePicture},
		{"a packed file", browser.File{Text: "PK\x03\x04\x00\x00"}, state.FileBinary},
		{"a note", browser.File{Text: "Belt, slack. Ordered two."}, state.FileText},
		{"a long one whose letters are cut in the middle", browser.File{Text: "x" + strings.Repeat("ä", headOf)}, state.FileText},
		{"a table", browser.File{Text: "n,time,step\n1,10:04,Listen\n"}, state.FileText},
		{"nothing", browser.File{Text: " \n"}, state.FileEmpty},
		{"something of another program", browser.File{Text: `{"name": "page", "version": "1.0.0"}`}, state.FileForeign},
		{"one that was cut", browser.File{Text: `{"name": "page", "vers`}, state.FileCut},
		{"a trail that was cut", browser.File{Text: `{"format": "pitwise/trail", "version": 1, "id":`}, state.FileCut},
		{"a model written by hand, with a comma too many", browser.File{Text: `{"format": "pitwise/model",, "version": 1}`}, state.FileOurs},
		{"a trail of 20 MB", browser.File{Text: `{"format": "pitwise/trail", "id": "` + strings.Repeat("x", 20<<20) + `"}`}, state.FileLarge},
		{"a trail with a defect", browser.File{Text: `{"format": "pitwise/trail", "version": 1}`}, state.FileOurs},
		{"a trail of the newest version with a defect", browser.File{Text: `{"format": "pitwise/trail", "version": 2}`}, state.FileOurs},
		{"a trail of a later program", browser.File{Text: `{"format": "pitwise/trail", "version": 3, "hue": 7}`}, state.FileNewer},
		{"a bench of a later program", browser.File{Text: `{"format": "pitwise/bench", "version": 4}`}, state.FileNewer},
		{"counts with a defect", browser.File{Text: `{"format": "pitwise/counts", "version": 1}`}, state.FileCounts},
		{"counts of a later program", browser.File{Text: `{"format": "pitwise/counts", "version": 2}`}, state.FileNewer},
		{"counts that were cut", browser.File{Text: `{"format": "pitwise/counts", "version": 1, "benches": [{"be`}, state.FileCut},
	} {
		assert.Equal(t, c.want, kindOf(c.file), c.name)
	}
}
