package report

import (
	"encoding/csv"
	"fmt"
	"strings"
	"time"

	"pitwise/app/words"
)

// A Photo is what a report without pictures says of a photograph.
type Photo struct {
	At      string // RFC 3339
	Of      int    // the event it belongs to, 0 for the intake
	Step    int    // the number of the step that is, or comes before it; 0 for the intake
	Caption string
	JPEG    string // of BuyerPage alone
}

// Taken says when a photograph was taken: at the intake, or at which step.
func Taken(w *words.Words, step int) string {
	if step < 1 {
		return w.Say(words.PhotoAtIntake)
	}
	return w.Say(words.PhotoOfStep, step)
}

// PhotosMarkdown is the section of a Markdown report on photographs, "" if there are none.
func PhotosMarkdown(w *words.Words, photos []Photo) string {
	if len(photos) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("\n## " + escape(w.Say(words.PhotosName)) + "\n\n")
	for _, p := range photos {
		line := Taken(w, p.Step) + ", " + w.Clock(p.At, time.UTC)
		if p.Caption != "" {
			line += ": " + p.Caption
		}
		b.WriteString("- " + escape(line) + "\n")
	}
	return b.String()
}

// PhotosSteps are further lines for Steps, one a photograph, of the kind photograph. n
// is the event it belongs to.
func PhotosSteps(w *words.Words, photos []Photo) string {
	var b strings.Builder
	out := csv.NewWriter(&b)
	out.UseCRLF = true
	for _, p := range photos {
		// As in Steps, writing does not fail.
		_ = out.Write([]string{fmt.Sprint(p.Of), cell(p.At), "photograph", "true", cell(Taken(w, p.Step)), cell(p.Caption), "", "", "", ""})
	}
	out.Flush()
	return b.String()
}
