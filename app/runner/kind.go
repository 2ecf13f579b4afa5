package runner

import (
	"strings"
	"unicode/utf8"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/document"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// headOf is how much of a file is looked at to say what it is, in bytes.
const headOf = 1024

// pictures are what the first bytes of pictures hold.
var pictures = []string{"PNG\r\n", "JFIF", "Exif", "WEBP", "GIF87a", "GIF89a", "ftypheic", "ftypavif"}

// kindOf says what a refused file is instead of one of ours. Bytes that are no text may have come as
// replacement characters.
func kindOf(f browser.File) state.FileKind {
	text := strings.TrimSpace(f.Text)
	head := text[:whole(text, headOf)]
	if text == "" {
		return state.FileEmpty
	}
	if strings.ContainsAny(head, "\x00\ufffd") || !utf8.ValidString(head) {
		if strings.HasPrefix(f.Type, "image/") {
			return state.FilePicture
		}
		for _, sign := range pictures {
			if strings.Contains(head, sign) {
				return state.FilePicture
			}
		}
		return state.FileBinary
	}
	if !strings.HasPrefix(text, "{") {
		return state.FileText
	}
	root, ok := document.NewReport([]byte(f.Text)).Read(limits)
	if !ok && !strings.HasSuffix(text, "}") { // else a slip of whoever writes one by hand, told by its line
		return state.FileCut
	}
	most, newest := 0, 0
	format := document.Format([]byte(f.Text), limits)
	switch format {
	case "pitwise/model":
		most, newest = model.MaxBytes, model.Newest
	case "pitwise/trail":
		most, newest = trail.MaxBytes, trail.Newest
	case learn.CountsFormat:
		most, newest = FileLimit, learn.CountsNewest
	case backupFormat:
		most, newest = FileLimit, backupVersion
	}
	version, _ := root.Get("version").Int()
	switch {
	case most == 0 && ok:
		return state.FileForeign
	case most == 0:
		return state.FileCut
	case len(f.Text) > most:
		return state.FileLarge
	case version > newest:
		return state.FileNewer
	case format == learn.CountsFormat:
		return state.FileCounts
	}
	return state.FileOurs
}

// whole is the largest length up to most that cuts no letter of the text.
func whole(text string, most int) int {
	n := min(len(text), most)
	for k := n; k > n-utf8.UTFMax && k > 0 && n < len(text); k-- {
		if utf8.RuneStart(text[k]) {
			return k
		}
	}
	return n
}
