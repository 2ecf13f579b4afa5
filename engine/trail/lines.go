package trail

import (
	"io"
	"math"

	"pitwise/engine/model"
)

// WriteLines writes the account as JSON, one object a line: a line for the start, one for
// each event, and one for the whole trail, with the odds of what was wrong when the unit
// came in, the doubts and the warnings.
//
//	{"n":3,"kind":"result","live":true,"belief":{"sound":p,"modes":{"lens.dirty":p,…},"faults":[p,…]},
//	 "log_evidence":x,"dropped":p,"decibans":{"lens.dirty":w,…},"setup":"open"}
//	{"origin":{"sound":p,"modes":{…},"faults":[…]},"doubts":[{"n":3,"p":p}],"warnings":[{"n":3,"text":"…"}]}
//
// Modes stand in the model's order, decibans only on live results and only for modes
// whose belief was neither 0 nor 1. Every number reads back to the same float64; one
// that is not finite, which only a damaged account has, is null. m is the model of the
// account, origin and doubts are from Origin and Doubts. The error is w's.
func (a *Account) WriteLines(w io.Writer, m *model.Model, origin Odds, doubts []Doubt) error {
	var e encoder
	for i := range a.Lines {
		e.b = e.b[:0]
		e.line(m, &a.Lines[i])
		if _, err := w.Write(e.b); err != nil {
			return err
		}
	}
	e.b = e.b[:0]
	e.key("{", "origin").odds(m, origin)
	e.key(",", "doubts").raw("[")
	for i, d := range doubts {
		if i > 0 {
			e.raw(",")
		}
		e.key("{", "n").int(d.N)
		e.key(",", "p").number(d.P)
		e.raw("}")
	}
	e.key("],", "warnings").raw("[")
	for i, x := range a.Warnings {
		if i > 0 {
			e.raw(",")
		}
		e.key("{", "n").int(x.N)
		e.key(",", "text").text(x.Text)
		e.raw("}")
	}
	e.raw("]}\n")
	_, err := w.Write(e.b)
	return err
}

// key adds what stands before a key, the key and a colon, without a space.
func (e *encoder) key(before, name string) *encoder {
	e.raw(before).text(name)
	return e.raw(":")
}

func (e *encoder) line(m *model.Model, l *Line) {
	e.key("{", "n").int(l.N)
	e.key(",", "kind").text(string(l.Kind))
	e.key(",", "live").flag(l.Live)
	e.key(",", "belief").odds(m, l.Odds)
	e.key(",", "log_evidence").number(l.LogEvidence)
	e.key(",", "dropped").number(l.Dropped)
	if l.Decibans != nil {
		e.key(",", "decibans").modes(m, l.Decibans)
	}
	e.key(",", "setup").text(string(m.Setups[l.Setup].ID))
	e.raw("}\n")
}

func (e *encoder) flag(b bool) {
	if b {
		e.raw("true")
	} else {
		e.raw("false")
	}
}

func (e *encoder) odds(m *model.Model, o Odds) {
	e.key("{", "sound").number(o.Sound)
	e.key(",", "modes").modes(m, o.Modes)
	e.key(",", "faults").raw("[")
	for i, p := range o.Faults {
		if i > 0 {
			e.raw(",")
		}
		e.number(p)
	}
	e.raw("]}")
}

// modes adds a number for each mode, but for those that are NaN.
func (e *encoder) modes(m *model.Model, numbers []float64) {
	before := "{"
	for i, x := range numbers {
		if math.IsNaN(x) {
			continue
		}
		e.key(before, string(m.Modes[i].ID)).number(x)
		before = ","
	}
	if before == "{" {
		e.raw("{")
	}
	e.raw("}")
}
