package report

import (
	"encoding/base64"
	"strings"
	"time"

	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// Buyer is what somebody who buys the unit wants to know, as Markdown: what it is, what was wrong by those
// who looked, what was done, and how it ran at the end. No odds, no terms, and none of the
// person's own notes.
func Buyer(w *words.Words, u Unit) string {
	var b strings.Builder
	b.WriteString("# " + escape(u.Trail.Unit.Label) + "\n")
	for _, part := range forBuyer(w, u) {
		b.WriteString("\n## " + escape(part.Title) + "\n\n")
		for _, line := range part.Lines {
			b.WriteString("- " + escape(line) + "\n")
		}
	}
	return b.String()
}

// BuyerPage is Buyer as a page of its own that any browser shows, with photographs.
func BuyerPage(w *words.Words, u Unit, photos []Photo) string {
	var b strings.Builder
	title := marked(u.Trail.Unit.Label)
	b.WriteString("<!doctype html>\n<html lang=\"" + w.ID + "\">\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width\">\n<title>" + title + "</title>\n" +
		"<style>body { max-width: 40em; margin: 1em auto; padding: 0 1em; font: 1.0625rem/1.5 system-ui, sans-serif; overflow-wrap: anywhere } img { max-width: 100% } figure { margin: 0 0 1em; break-inside: avoid }</style>\n<h1>" + title + "</h1>\n")
	for _, part := range forBuyer(w, u) {
		b.WriteString("<h2>" + marked(part.Title) + "</h2>\n<ul>\n")
		for _, line := range part.Lines {
			b.WriteString("<li>" + marked(line) + "</li>\n")
		}
		b.WriteString("</ul>\n")
	}
	if len(photos) > 0 {
		b.WriteString("<h2>" + marked(w.Say(words.PhotosName)) + "</h2>\n")
	}
	for _, p := range photos {
		caption := w.Day(p.At, time.UTC)
		if p.Caption != "" {
			caption = p.Caption + ", " + caption
		}
		b.WriteString("<figure><img alt=\"\" src=\"data:image/jpeg;base64," + base64.StdEncoding.EncodeToString([]byte(p.JPEG)) + "\"><figcaption>" + marked(caption) + "</figcaption></figure>\n")
	}
	return b.String()
}

// marked makes text mean itself in HTML.
func marked(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", "\"", "&quot;").Replace(Plain(s))
}

// forBuyer is what stands in Buyer.
func forBuyer(w *words.Words, u Unit) (parts []Section) {
	if u.Zone == nil {
		u.Zone = time.UTC
	}
	of := u.bench()
	section := func(title words.Key, lines []string) {
		if len(lines) > 0 {
			parts = append(parts, Section{Title: w.Say(title), Lines: lines})
		}
	}
	what := u.Trail.Model.ID
	if u.Model != nil {
		what = words.Title(u.Model.Words, u.Model.ID)
	}
	head := []string{what}
	if e, ok := of.Ended(); ok {
		head = append(head, w.Say(words.ReportEnded, w.Ending(e.As), w.Day(e.At, u.Zone)))
	}
	section(words.ReportUnit, head)

	var came, found, done []string
	live := u.Trail.Live()
	for i, e := range u.Trail.Events {
		if !live[i] {
			continue
		}
		switch e.Kind {
		case trail.Result:
			if of.Told(e.Test) || u.Model != nil && len(done) == 0 && e.Test == u.Model.Tests[u.Model.Intake].ID {
				came = append(came, w.Event(u.Model, u.Trail, e))
			}
		case trail.Repair:
			step, _ := w.Told(u.Model, u.Trail, e)
			done = append(done, w.Say(words.EventResult, w.Day(e.At, u.Zone), step))
		case trail.End:
			for _, id := range e.Causes {
				found = append(found, words.FaultOf(u.Model, id))
			}
		}
	}
	section(words.BuyerCame, came)
	section(words.ReportFound, found)
	section(words.BuyerDone, done)
	section(words.BuyerRan, ran(w, u, of))
	section(words.ReportSafety, []string{w.Say(words.SafetyShort)})
	return parts
}

// ran says how the unit ran at the end: each test by which it starts or not, and what else was seen of it as it is sold, since the last repair,
// or all of that where none was done.
func ran(w *words.Words, u Unit, of *bench.Unit) []string {
	if u.Model == nil {
		return nil
	}
	type tried struct {
		test       *model.Test
		runs, good int
		last       string
	}
	var all []tried
	mended := false
	live := u.Trail.Live()
	for i := range u.Trail.Events {
		e := &u.Trail.Events[i]
		switch {
		case !live[i]:
		case e.Kind == trail.Repair:
			all, mended = nil, true
		case e.Kind == trail.Result:
			t, ok := u.Model.Test(e.Test)
			if !ok || t.Told || t.At != u.Model.Root && !u.Model.EndsAsProof(t) {
				continue
			}
			at := 0
			for at < len(all) && all[at].test != t {
				at++
			}
			if at == len(all) {
				all = append(all, tried{test: t})
			}
			all[at].runs++
			if bench.OutcomeOf(t, e) == 0 {
				all[at].good++
			}
			all[at].last = w.Event(u.Model, u.Trail, *e)
		}
	}
	if len(all) == 0 {
		if mended {
			return []string{w.Say(words.BuyerUntried)}
		}
		return []string{w.Say(words.BuyerNever)}
	}
	var lines []string
	for _, x := range all {
		starts := u.Model.EndsAsProof(x.test)
		if starts {
			lines = append(lines, w.Say(words.BuyerRuns, words.Title(x.test.Words, x.test.ID), x.good, x.runs))
		}
		if !starts || x.good < x.runs {
			lines = append(lines, x.last)
		}
	}
	return lines
}
