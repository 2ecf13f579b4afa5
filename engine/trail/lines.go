package trail

import (
	"io"
	"math"

	"pitwise/engine/document"
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
// account, origin and doubts are from Origin and Doubts. The error is out's.
func (a *Account) WriteLines(out io.Writer, m *model.Model, origin Odds, doubts []Doubt) error {
	for i := range a.Lines {
		w := document.Writer{Tight: true}
		a.Lines[i].write(&w, m)
		if _, err := out.Write(append(w.Bytes(), '\n')); err != nil {
			return err
		}
	}
	w := document.Writer{Tight: true}
	w.Object(false).Key("origin")
	origin.write(&w, m)
	w.Key("doubts").List(false)
	for _, d := range doubts {
		w.Object(false).Key("n").Int(d.N).Key("p").Number(d.P).End()
	}
	w.End().Key("warnings").List(false)
	for _, x := range a.Warnings {
		w.Object(false).Key("n").Int(x.N).Key("text").String(x.Text).End()
	}
	w.End().End()
	_, err := out.Write(append(w.Bytes(), '\n'))
	return err
}

func (l *Line) write(w *document.Writer, m *model.Model) {
	w.Object(false).Key("n").Int(l.N).Key("kind").String(string(l.Kind)).Key("live").Bool(l.Live)
	w.Key("belief")
	l.Odds.write(w, m)
	w.Key("log_evidence").Number(l.LogEvidence).Key("dropped").Number(l.Dropped)
	if l.Decibans != nil {
		w.Key("decibans")
		writeModes(w, m, l.Decibans)
	}
	w.Key("setup").String(string(m.Setups[l.Setup].ID)).End()
}

func (o Odds) write(w *document.Writer, m *model.Model) {
	w.Object(false).Key("sound").Number(o.Sound).Key("modes")
	writeModes(w, m, o.Modes)
	w.Key("faults").List(false)
	for _, p := range o.Faults {
		w.Number(p)
	}
	w.End().End()
}

// writeModes writes a number for each mode, but for those that are NaN.
func writeModes(w *document.Writer, m *model.Model, numbers []float64) {
	w.Object(false)
	for i, x := range numbers {
		if !math.IsNaN(x) {
			w.Key(string(m.Modes[i].ID)).Number(x)
		}
	}
	w.End()
}
