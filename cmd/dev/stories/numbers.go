package stories

import (
	"fmt"

	"pitwise/app/state"
	"pitwise/engine/catalog"
	"pitwise/engine/document"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
	"pitwise/engine/worth"
)

// benchesOf are benches of these names, with more units each.
func benchesOf(names ...string) (all []learn.Bench) {
	for i, name := range names {
		all = append(all, learn.Bench{ID: name, Units: 1 + 37*i*i})
	}
	return all
}

// lending is a bench that holds the counts of others, of its own name too, and some that it can use no more.
func lending() *stage {
	tray := learn.Counts{Model: "tray", SHA256: "a", Benches: benchesOf("Attic", "My bench", hostile, longWords, "Pier 4")}
	old := learn.Counts{Model: "top-loader", SHA256: "b", Benches: benchesOf("Attic")}
	return newStage().send(state.SetBench{Text: "My bench"}, state.Navigated{Path: "/numbers"},
		state.LentRead{Model: "top-loader", Held: []state.Lent{{Counts: old, Stale: true}}}, state.LentRead{Model: "tray", Held: []state.Lent{{Counts: tray}}})
}

// takenOut is such a bench from which one was just taken out.
func takenOut() *stage {
	s := lending().send(state.DropBench{Model: "tray", SHA256: "a", ID: "Attic"})
	held := s.state.Lending.Held[1]
	held.Benches = held.Benches[1:]
	return s.send(state.LentRead{Model: "tray", Held: []state.Lent{held}})
}

// giving is a bench whose counts can be given away, with those of so many others.
func giving(others int) *stage {
	names := []string{"My bench"}
	for i := range others {
		names = append(names, fmt.Sprint("Pier ", i+1))
	}
	return lending().send(state.GiveCounts{Model: "tray"}, state.Counted{Model: "tray", Counts: learn.Counts{Model: "tray", Benches: benchesOf(names...)}})
}

// refusedCounts is a file of counts that was not read in.
func refusedCounts(kind state.FileKind, place, found string) *stage {
	return newStage().send(state.Navigated{Path: "/numbers"}, state.ImportFailed{File: state.RefusedFile{File: "pitwise-counts-attic-tray-2026-03-04.json", Kind: kind,
		Defects: []state.Defect{{Defect: document.Defect{Place: place, Found: found, Line: 12, Column: 4}}}}})
}

// learnt is what a bench learns from eight units that went as the story's evening did.
type learnt struct {
	Account learn.Account
	Taught  []learn.Figure
	Text    []byte
}

func learntOf(m *model.Model, t trail.Trail) (out learnt) {
	l, err := learn.New(m)
	if err != nil {
		panic(err) // a story of a model that is not shipped
	}
	for i := range 8 {
		t.ID = fmt.Sprint("unit ", i)
		if err := l.Add(&t); err != nil {
			panic(err)
		}
	}
	fit, err := l.Fit(learn.Options{})
	if err == nil {
		err = fit.Intervals(learn.Sweeps{Warm: 5, Keep: 20})
	}
	if err != nil {
		panic(err)
	}
	fresh, err := fit.Model()
	if err != nil {
		panic(err)
	}
	if out.Taught, err = l.Taught(fit, "unit 7", learn.Options{}); err != nil {
		panic(err)
	}
	out.Account, out.Text = fit.Account(), fresh.Text
	return out
}

// numbers is a bench that has learnt from them, and from what others lend.
func numbers(lent ...learn.Bench) *stage {
	s := evening()
	m := s.state.Unit.Model.Original()
	of := worked("learnt", func() learnt { return learntOf(m, *s.state.Unit.Trail) })
	of.Account.Benches = lent
	return s.send(state.Navigated{Path: "/numbers"}, state.LearnFrom{Model: m.ID}, state.Learnt{Model: m.ID, Account: &of.Account, Base: m, Latest: "Grey one", Taught: of.Taught, Text: of.Text})
}

// judged is a bench whose odds were held against the causes that were named.
func judged(t learn.Trial) *stage {
	return newStage().send(state.Navigated{Path: "/numbers"}, state.JudgeUnits{Model: "tray"}, state.Judged{Model: "tray", Trial: &t})
}

// hanging is a unit of which is shown what its suspect and its step hang on.
func hanging() *stage {
	s := evening()
	u := s.state.Unit
	lead := worked("hangs", func() learn.Hangs {
		sensitivity, err := learn.NewSensitivity(u.Model)
		if err != nil {
			panic(err)
		}
		lead, err := sensitivity.Of(u.Trail)
		if err != nil {
			panic(err)
		}
		return lead
	})
	// A search that settles takes a browser long; what its step hangs on looks the same.
	step := learn.StepHangs{Step: learn.Instead{Kind: plan.DoTest, ID: string(u.Model.Tests[u.Model.Intake].ID)}}
	for _, x := range lead.Numbers[:min(2, len(lead.Numbers))] {
		x.Other, x.Instead = "", &learn.Instead{Kind: plan.WriteOff}
		step.Numbers = append(step.Numbers, x)
	}
	return s.send(state.Navigated{Path: "/unit/" + storyID + "/odds"}, state.AskHangs{}, state.Hung{ID: u.Trail.ID, Turn: u.Turn, Lead: &lead, Step: &step})
}

// weighed is a bench that knows what tools save.
func weighed(busy bool) *stage {
	s := newStage().send(state.Navigated{Path: "/worth"}, state.WeighTools{Model: "tray"})
	m, err := catalog.Load("tray")
	if err != nil {
		panic(err)
	}
	s.send(state.WeighingWith{Turn: 1, Base: m, Terms: trail.Terms{MinuteValue: 0.25, Currency: "EUR"}})
	tools := []worth.Tool{}
	weighed := worth.Tools(m, trail.Terms{})
	for i, saves := range []float64{9.1, 3.4, 0.8, -0.3} {
		tools = append(tools, worth.Tool{ID: weighed[i], Saves: saves, StandardError: 0.9, Mended: saves / 60})
	}
	s.send(state.Weighed{Turn: 1, Done: 12, All: 100, Units: 60, Tools: tools})
	if !busy {
		s.send(state.StopWeighing{})
	}
	return s
}

// own is a model with a number of one's own, and the fault that it is of.
func own(path string) *stage {
	base, err := catalog.Load("tray")
	if err != nil {
		panic(err)
	}
	now, err := learn.Override(base, learn.Own{Figure: learn.Figure{Kind: learn.Prior, Mode: base.Modes[1].ID, P: 0.12}, Reason: "counted over two years"})
	if err != nil {
		panic(err)
	}
	return newStage().send(state.Navigated{Path: path}, state.OwnRead{Models: []state.OwnModel{{ID: "tray", SHA256: now.SHA256, Mine: true, Added: "2026-03-01T10:00:00Z"}}},
		state.FiguresRead{Model: "tray", Now: now, Shipped: base})
}

// changing is the question for a number of one's own.
func changing() *stage {
	s := own("/figures/tray/mode/" + string(ownMode()))
	return s.send(state.EditFigure{Figure: learn.Figure{Kind: learn.Prior, Mode: ownMode(), P: 0.12, Shipped: 0.05}}, state.SetFigure{Text: "15"})
}

// ownMode is the fault whose number is one's own in these stories.
func ownMode() model.ModeID {
	m, err := catalog.Load("tray")
	if err != nil {
		panic(err)
	}
	return m.Modes[1].ID
}
