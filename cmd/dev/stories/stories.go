package stories

import (
	"fmt"
	"slices"
	"strings"

	"pitwise/app/state"
	"pitwise/engine/document"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A Story is a screen in a state.
type Story struct {
	Name string
	make func() *stage
}

// Nothing is the page before anything is known.
var Nothing state.State

// told are the stories that were told before: a State is never changed.
var told = map[string]state.State{}

// State works the story's state out, once.
func (s Story) State() state.State {
	if _, ok := told[s.Name]; !ok {
		telling = s.Name
		told[s.Name] = s.make().state
		telling = ""
	}
	return told[s.Name]
}

// In is the story in another language.
func (s Story) In(lang string) Story {
	return Story{s.Name + " in " + lang, func() *stage { return (&stage{state: s.State()}).send(state.ChooseLang{Lang: lang}) }}
}

// Find returns the story of a name.
func Find(name string) (Story, bool) {
	for _, s := range All {
		if s.Name == name {
			return s, true
		}
	}
	return Story{}, false
}

var longWords = strings.Repeat("Uninterruptedgreyplastic", 4) + " with-a-very-long-hyphenated-name-that-nobody-would-type-but-somebody-did and Donaudampfschifffahrtsgesellschaft"

const hostile = "<img src=x onerror=alert(1)> \u202eright to left\u202c <script>alert(2)</script>"

// All are the stories, in the order of a person's way through the page.
var All = []Story{
	{"first-run", newStage},
	{"bench-full", fullBench},
	{"bench-nothing-found", func() *stage {
		return fullBench().send(state.SearchBench{Text: "zebra"}, state.BenchRead{Count: state.Count{Units: 10, Away: 1}})
	}},
	{"bench-empty", func() *stage {
		return newStage().send(state.BenchRead{Cards: []state.Card{{ID: "A5", Label: "Away", Archived: true, Currency: "EUR"}}, Count: state.Count{Units: 1, Away: 1}})
	}},
	{"bench-offline", func() *stage { return fullBench().send(state.WentOffline{Offline: true}) }},
	{"bench-no-storage", func() *stage {
		return newStage().send(state.StorageChanged{Trouble: state.TroubleDenied})
	}},
	{"bench-storage-silent", func() *stage {
		return newStage().send(state.StorageChanged{Trouble: state.TroubleSilent})
	}},
	{"bench-other-version", func() *stage {
		return newStage().send(state.StorageChanged{Trouble: state.TroubleOld}, state.UpdateWaiting{})
	}},
	{"bench-import-refused", func() *stage {
		return newStage().send(state.ImportFailed{Detail: "trail: events[3].test: no test has the id \"" + strings.Repeat("x", 200) + "\""})
	}},
	{"refused", func() *stage {
		return newStage().send(refusedModel(state.Defect{Defect: document.Defect{Place: "tests[0].given[\"lens.dirty\"]", Line: 40, Column: 8,
			Found: "up to outcome \"asks\" it adds up to 0.6263 times what healthy does, and to 0.6316 up to the outcome before; the ratio may not fall"}},
			state.Defect{Defect: document.Defect{Place: "id", Found: "missing", Line: 3, Column: 2}, In: "units[12].model_text"},
			state.Defect{Defect: document.Defect{Place: "repairs[2].fixes[\"" + longWords + "\"]", Found: hostile, Line: 1234567, Column: 1234567}},
			state.Defect{Defect: document.Defect{Found: "sha256 " + strings.Repeat("0", 64) + ": the file was changed or cut"}}))
	}},
	{"refused-picture", func() *stage {
		m := refusedModel(state.Defect{Defect: document.Defect{Found: "not UTF-8 at byte 0", Line: 1, Column: 1}}).(state.ImportFailed)
		m.File.Kind, m.File.File = state.FilePicture, "picture.jpg"
		return newStage().send(m)
	}},
	{"refused-many", func() *stage {
		all := make([]state.Defect, document.MaxDefects)
		for i := range all {
			all[i] = state.Defect{Defect: document.Defect{Place: fmt.Sprintf("tests[%d].healthy", i), Found: "row sums to 0.98, want 1", Line: 7 + 12*i, Column: 8}}
		}
		return newStage().send(refusedModel(all...))
	}},
	{"intake-own", func() *stage {
		s := newStage().send(state.Navigated{Path: "/new"}, state.OwnRead{Models: ownModels})
		return s.send(state.AskDrop{SHA256: ownModels[1].SHA256})
	}},
	{"intake-reading-in", func() *stage {
		return newStage().send(state.Navigated{Path: "/new"}, state.PickImport{})
	}},
	{"intake", func() *stage {
		return newStage().send(state.Navigated{Path: "/new"})
	}},
	{"intake-missing", func() *stage {
		return newStage().send(state.Navigated{Path: "/new"}, state.SetTerm{Term: state.TermMinute, Text: "1,234"},
			state.SetTerm{Term: state.TermWorking, Text: "much"}, state.SetTerm{Term: state.TermAsIs, Text: "-3"}, state.StartUnit{})
	}},
	{"intake-filled", func() *stage {
		s := newStage().send(state.Navigated{Path: "/new"}, state.SetLabel{Text: longWords}, state.Answer{Test: "first-boot", Outcome: "asks"})
		for _, t := range s.state.Draft.Model.Tools {
			s.send(state.SetTool{ID: t.ID, On: true})
		}
		return s
	}},
	{"step", func() *stage { return newStage().takeIn("Grey top-loader, shelf 3") }},
	{"step-thinking", func() *stage {
		s := newStage()
		s.stuck = true
		return s.takeIn("Grey top-loader, shelf 3")
	}},
	{"step-still-thinking", func() *stage {
		s := newStage()
		s.loose = true
		return s.takeIn("Grey top-loader, shelf 3").at(plan.DoTest, "known-disc").read()
	}},
	{"step-cautions", func() *stage { return newStage().takeIn("Grey one").at(plan.DoTest, "motor-load") }},
	{"step-aloud", func() *stage {
		return newStage().takeIn("Grey one").at(plan.DoTest, "known-disc").read().send(state.ReadAloud{Texts: []string{"Start a disc known to be good"}})
	}},
	{"step-more-no-voice", func() *stage {
		return newStage().takeIn("Grey one").at(plan.DoTest, "known-disc").read().send(state.VoicesKnown{}, state.SetHabit{Habit: state.HabitMore, On: true})
	}},
	{"step-way", func() *stage { return newStage().takeIn("Grey one").at(plan.DoTest, "motor-load").read() }},
	{"step-test", func() *stage { return newStage().takeIn("Grey one").at(plan.DoTest, "known-disc").read() }},
	{"step-reading", func() *stage {
		return newStage().takeIn("Grey one").read().send(state.Move{To: "open"}).at(plan.DoTest, "motor-rest").send(state.SetEntry{Text: "7,6"})
	}},
	{"step-timer", func() *stage {
		s := newStage().takeIn("Grey one").at(plan.DoTest, "known-disc").read()
		return s.send(state.Ticked{ID: storyID, End: "2026-03-04T12:00:00Z", Left: 272}, state.SetHabit{Habit: state.HabitMore, On: true})
	}},
	{"step-timer-folded", func() *stage {
		s := soaking("known-disc", "++-", 272)
		return s.send(state.Ticked{ID: storyID, End: "2026-03-04T12:00:00Z", Left: 1799}, state.SetHabit{Habit: state.HabitMore})
	}},
	{"step-reading-wrong", func() *stage {
		return newStage().takeIn("Grey one").read().send(state.Move{To: "open"}).at(plan.DoTest, "motor-rest").send(state.SetEntry{Text: "1,234"})
	}},
	{"step-tie", func() *stage {
		s := newStage().takeIn("Grey one").read()
		tied := slices.Clone(s.state.Unit.Proposals)
		for i := range tied[:3] {
			tied[i].Total, tied[i].Reason.Saves, tied[i].Reason.Other = tied[0].Total, 0, tied[(i+1)%3].Step
		}
		return s.send(state.Thought{ID: storyID, Turn: s.state.Unit.Turn, Proposals: tied, Settled: true})
	}},
	{"other-tie", func() *stage {
		s := newStage().takeIn("Grey one").read()
		tied := slices.Clone(s.state.Unit.Proposals)
		for i := range tied {
			tied[i].Total = tied[0].Total
		}
		return s.send(state.Thought{ID: storyID, Turn: s.state.Unit.Turn, Proposals: tied, Settled: true}).pane(state.PaneOther)
	}},
	{"step-offline", func() *stage { return newStage().takeIn("Grey one").send(state.WentOffline{Offline: true}) }},
	{"step-soak-closed", func() *stage {
		return newStage().takeIn("Grey one").read().at(plan.DoTest, "five-starts").send(state.SetHabit{Habit: state.HabitMore, On: true})
	}},
	{"step-soak", func() *stage { return soaking("known-disc", "++-", 272) }},
	{"step-soak-fits", func() *stage { return soaking("five-starts", "+++++", 611) }},
	{"step-soak-long", func() *stage { return soaking("five-starts", strings.Repeat("+-", 499), 86399) }},
	{"step-soak-german", func() *stage { return soaking("five-starts", "++-++", 611).send(state.ChooseLang{Lang: "de"}) }},
	{"step-soak-spanish", func() *stage { return soaking("five-starts", "-----", 611).send(state.ChooseLang{Lang: "es"}) }},
	{"step-soak-japanese", func() *stage { return soaking("known-disc", "+-+", 59).send(state.ChooseLang{Lang: "ja"}) }},
	{"sheet-note-soak", func() *stage {
		return soaking("five-starts", "++-++", 611).send(state.OpenSheet{Sheet: state.SheetNote, Text: "Start the good disc five times: counted 4 good, 1 failed in 10:11."})
	}},
	{"step-blurred", func() *stage {
		s := newStage().takeIn("Grey one")
		return s.send(state.Thought{ID: storyID, Turn: s.state.Unit.Turn, Settled: true}, state.Reckoned{ID: storyID, Turn: s.state.Unit.Turn, Account: s.state.Unit.Account,
			Conflict: state.Conflict{Kind: state.ConflictBlurred, N: 2, Detail: "trail: events[1]: belief: too blurred"}})
	}},
	{"step-repair", func() *stage { return newStage().takeIn("Grey one").read().at(plan.DoRepair, "clean-lens") }},
	{"step-way-back", func() *stage {
		return newStage().takeIn("Grey one").read().send(state.Move{To: "drive-out"}).at(plan.SignOff, "")
	}},
	{"step-proof", func() *stage {
		s := newStage().takeIn("Grey one").read().send(state.Move{To: "open"}, state.Repaired{ID: "reseat-flex"})
		return s.at(plan.SignOff, "")
	}},
	{"step-proof-in-place", func() *stage {
		s := newStage().takeIn("Grey one").read().send(state.Move{To: "open"}, state.Repaired{ID: "reseat-flex"})
		step, _ := s.state.Unit.Proof()
		return s.send(state.TryHere{Step: step})
	}},
	{"step-sign-off", func() *stage { return newStage().takeIn("Grey one").at(plan.SignOff, "") }},
	{"step-write-off", func() *stage { return newStage().takeIn("Grey one").at(plan.WriteOff, "") }},
	{"step-ended", func() *stage {
		return newStage().takeIn("Grey one").send(state.Repaired{ID: "clean-lens"}, state.OpenSheet{Sheet: state.SheetSignOff}, state.ConfirmSheet{})
	}},
	{"other-ended", func() *stage {
		return newStage().takeIn("Grey one").send(state.Repaired{ID: "clean-lens"}, state.OpenSheet{Sheet: state.SheetSignOff}, state.ConfirmSheet{}).pane(state.PaneOther)
	}},
	{"sheet-came-back", func() *stage {
		return newStage().takeIn("Grey one").send(state.Repaired{ID: "clean-lens"}, state.OpenSheet{Sheet: state.SheetSignOff}, state.ConfirmSheet{}, state.OpenSheet{Sheet: state.SheetBack})
	}},
	{"step-came-back", func() *stage {
		return newStage().takeIn("Grey one").send(state.Repaired{ID: "clean-lens"}, state.OpenSheet{Sheet: state.SheetSignOff}, state.ConfirmSheet{},
			state.OpenSheet{Sheet: state.SheetBack}, state.ConfirmSheet{})
	}},
	{"step-waits", func() *stage {
		return newStage().takeIn("Grey one").send(state.OpenSheet{Sheet: state.SheetWait}, state.SetText{Text: longWords}, state.ConfirmSheet{})
	}},
	{"step-doubt", func() *stage {
		s := newStage().takeIn("Grey one")
		for range 3 {
			s.send(state.SawOutcome{Test: "known-disc", Outcome: "boots"})
		}
		return s.send(state.SawOutcome{Test: "spin-look", Outcome: "still"}, state.Looked{ID: storyID, Turn: s.state.Unit.Turn,
			Doubts: []trail.Doubt{{N: 1, P: 0.4}, {N: 3, P: 0.013}}})
	}},
	{"step-contradiction", func() *stage {
		s := newStage().takeIn("Grey one")
		return s.send(state.Thought{ID: storyID, Turn: s.state.Unit.Turn, Settled: true}, state.Reckoned{ID: storyID, Turn: s.state.Unit.Turn, Account: s.state.Unit.Account,
			Conflict: state.Conflict{Kind: state.ConflictContradiction, N: 1, Detail: "trail: events[0]: belief: impossible"}})
	}},
	{"step-no-model", func() *stage { return newStage().takeIn("Grey one").withoutModel() }},
	{"step-storage-full", func() *stage {
		s := newStage().takeIn("Grey one")
		s.full = true
		return s.send(state.SawOutcome{Test: "known-disc", Outcome: "boots"}, state.Repaired{ID: "clean-lens"})
	}},
	{"step-update-waiting", func() *stage { return newStage().takeIn("Grey one").send(state.UpdateWaiting{}) }},
	{"step-clash", func() *stage {
		s := newStage().takeIn("Grey one")
		return s.send(state.AppendFailed{ID: storyID, Trouble: state.TroubleClash})
	}},
	{"step-long-words", func() *stage {
		return newStage().takeIn(longWords).send(state.OpenSheet{Sheet: state.SheetNote}, state.SetText{Text: longWords + "\n" + hostile}, state.ConfirmSheet{})
	}},
	{"odds", func() *stage { return evening().pane(state.PaneOdds) }},
	{"odds-evidence", func() *stage { return evening().pane(state.PaneOdds).send(state.LookAt{Place: "lens"}) }},
	{"odds-tray", func() *stage {
		return newStage().takeInA("tray", "Black one with a tray").send(state.SawOutcome{Test: "lens-look", Outcome: "filmed"}).pane(state.PaneOdds)
	}},
	{"odds-slot-in", func() *stage {
		return newStage().takeInA("slot-in", "White one with a slot").send(state.SawOutcome{Test: "lens-look", Outcome: "filmed"}).
			pane(state.PaneOdds).send(state.LookAt{Place: "rollers"})
	}},
	{"odds-own-places", func() *stage { return ownPlaces().pane(state.PaneOdds) }},
	{"odds-three-faults", func() *stage {
		s := newStage().takeIn("Grey one")
		for range 2 {
			s.send(state.SawOutcome{Test: "known-disc", Outcome: "still"}, state.SawOutcome{Test: "spin-look", Outcome: "still"},
				state.SawOutcome{Test: "lens-look", Outcome: "filmed"}, state.SawOutcome{Test: "lid-look", Outcome: "broken"},
				state.SawOutcome{Test: "sled-hand", Outcome: "drags"})
		}
		return s.pane(state.PaneOdds)
	}},
	{"odds-thinking", func() *stage {
		s := newStage()
		s.stuck = true
		return s.takeIn("Grey one").pane(state.PaneOdds)
	}},
	{"trail", func() *stage { return evening().pane(state.PaneTrail) }},
	{"trail-forty", func() *stage { return forty(false).pane(state.PaneTrail) }},
	{"odds-forty", func() *stage { return forty(false).pane(state.PaneOdds) }},
	{"trail-damaged", func() *stage {
		s := newStage().takeIn("Grey one")
		return s.send(state.Opened{Trail: s.state.Unit.Trail, Model: s.state.Unit.Model, Damaged: []string{"{", "}"}}).pane(state.PaneTrail)
	}},
	{"other", func() *stage { return evening().pane(state.PaneOther) }},
	{"other-nothing-found", func() *stage { return evening().pane(state.PaneOther).send(state.FindOther{Text: "zebra"}) }},
	{"sheet-skip", func() *stage {
		return newStage().takeIn("Grey one").at(plan.DoTest, "known-disc").send(state.OpenSheet{Sheet: state.SheetSkip})
	}},
	{"sheet-wait", func() *stage { return evening().send(state.OpenSheet{Sheet: state.SheetWait}) }},
	{"sheet-note", func() *stage { return newStage().takeIn("Grey one").send(state.OpenSheet{Sheet: state.SheetNote}) }},
	{"sheet-sign-off", func() *stage { return evening().send(state.OpenSheet{Sheet: state.SheetSignOff}) }},
	{"sheet-write-off", func() *stage { return evening().send(state.OpenSheet{Sheet: state.SheetWrite}) }},
	{"sheet-return", func() *stage { return evening().send(state.OpenSheet{Sheet: state.SheetReturn}) }},
	{"sheet-export", func() *stage { return evening().send(state.OpenSheet{Sheet: state.SheetExport}) }},
	{"sheet-codes", func() *stage { return evening().send(state.OpenSheet{Sheet: state.SheetCodes}, state.TurnCode{To: 1}) }},
	{"sheet-codes-japanese", func() *stage {
		return evening().send(state.ChooseLang{Lang: "ja"}, state.OpenSheet{Sheet: state.SheetCodes}, state.PlayCodes{On: true})
	}},
	{"sheet-codes-large", func() *stage {
		return evening().send(state.OpenSheet{Sheet: state.SheetCodes}, state.CodesMade{ID: storyID})
	}},
	{"move", func() *stage { return newStage().send(state.Navigated{Path: "/move"}) }},
	{"move-old", func() *stage {
		return fullBench().send(state.Navigated{Path: "/move"}, state.Taken{Way: state.WaySave, Bench: true, At: "2026-03-04T12:00:00Z",
			Held: &state.Held{Units: 214, Steps: 8113, Photos: 61, Models: 2, Check: "4f2a 91c0"}})
	}},
	{"move-arrived", func() *stage { return arrived(0) }},
	{"move-lacking-german", func() *stage { return arrived(3).send(state.ChooseLang{Lang: "de"}) }},
	{"move-checking", func() *stage {
		return newStage().send(state.Navigated{Path: "/move"}, state.Imported{Bench: true, New: 8113})
	}},
	{"move-reading", func() *stage {
		return reading(state.CodesSeen{Of: 7, Missing: []int{2, 5, 6}, Said: state.ReaderOther})
	}},
	{"move-reading-spanish", func() *stage {
		return reading(state.CodesSeen{Of: 99, Missing: many(98), Said: state.ReaderEmpty, Name: longWords + ".jpg"}).send(state.ChooseLang{Lang: "es"})
	}},
	{"move-blind", func() *stage { return reading(state.CodesSeen{Said: state.ReaderBlind}) }},
	{"report", func() *stage { return reportOf(evening()) }},
	{"report-forty", func() *stage { return reportOf(forty(true)) }},
	{"report-forty-german", func() *stage { return reportOf(forty(true).send(state.ChooseLang{Lang: "de"})) }},
	{"report-forty-japanese", func() *stage { return reportOf(forty(true).send(state.ChooseLang{Lang: "ja"})) }},
	{"report-long-words", func() *stage {
		return reportOf(newStage().takeIn(longWords).send(state.OpenSheet{Sheet: state.SheetNote},
			state.SetText{Text: longWords + "\n" + hostile}, state.ConfirmSheet{}))
	}},
	{"report-no-model", func() *stage {
		return reportOf(evening().withoutModel())
	}},
	{"settings", func() *stage {
		s := fullBench().send(state.Navigated{Path: "/settings"})
		s.state.Storage.Persisted = false
		return s
	}},
	{"book", func() *stage { return booked(filledBook(9)) }},
	{"book-by-unit", func() *stage { return booked(filledBook(200)).send(state.AddUpBy{By: state.ByUnit}) }},
	{"book-by-month-german", func() *stage {
		return booked(filledBook(40)).send(state.AddUpBy{By: state.ByMonth}, state.ChooseLang{Lang: "de"})
	}},
	{"book-japanese", func() *stage { return booked(filledBook(9)).send(state.ChooseLang{Lang: "ja"}) }},
	{"book-empty", func() *stage { return booked(nil) }},
	{"book-busy", func() *stage {
		return newStage().send(state.Navigated{Path: "/book"}, state.BookRead{Entries: filledBook(50), Done: 50, All: 312})
	}},
	{"numbers", func() *stage { return newStage().send(state.Navigated{Path: "/numbers"}) }},
	{"numbers-busy", func() *stage {
		return newStage().send(state.Navigated{Path: "/numbers"}, state.LearnFrom{Model: "tray"}, state.LearnOn{Model: "tray", Done: 7, Units: 31})
	}},
	{"numbers-drawn", func() *stage {
		return newStage().send(state.Navigated{Path: "/numbers"}, state.LearnFrom{Model: "tray"}, state.LearnOn{Model: "tray", Done: 61, Of: 170, Units: 31})
	}},
	{"numbers-none", func() *stage {
		return newStage().send(state.Navigated{Path: "/numbers"}, state.LearnFrom{Model: "tray"}, state.LearnFailed{Model: "tray", Trouble: state.LearnNone})
	}},
	{"numbers-judged", func() *stage {
		return judged(learn.Trial{Units: 41, ShippedLead: learn.Lead{Units: 41, Said: 0.7, Was: 0.683, Spread: 0.07}, LearntLead: learn.Lead{Units: 41, Said: 0.85, Was: 0.707, Spread: 0.055}})
	}},
	{"numbers-judged-few", func() *stage { return judged(learn.Trial{Units: 6}) }},
	{"hangs", hanging},
	{"hangs-japanese", func() *stage { return hanging().send(state.ChooseLang{Lang: "ja"}) }},
	{"worth", func() *stage { return newStage().send(state.Navigated{Path: "/worth"}) }},
	{"worth-busy", func() *stage { return weighed(true) }},
	{"worth-found-german", func() *stage { return weighed(false).send(state.ChooseLang{Lang: "de"}) }},
	{"figures", func() *stage { return own("/figures/tray") }},
	{"figures-fault", func() *stage { return own("/figures/tray/mode/" + string(ownMode())) }},
	{"figures-test-spanish", func() *stage { return own("/figures/tray/test/first-boot").send(state.ChooseLang{Lang: "es"}) }},
	{"figures-change", changing},
	{"numbers-learnt", func() *stage { return numbers() }},
	{"numbers-learnt-lent", func() *stage { return numbers(benchesOf("Attic", hostile, "Pier 4")...) }},
	{"numbers-lent", lending},
	{"numbers-lent-german", func() *stage { return lending().send(state.ChooseLang{Lang: "de"}) }},
	{"numbers-lent-out", takenOut},
	{"numbers-lent-read", func() *stage {
		return lending().send(state.Imported{Counts: &state.TakenCounts{Benches: 2, LentRead: state.LentRead{Model: "slot-in"}}})
	}},
	{"numbers-give-name", func() *stage {
		return newStage().send(state.Navigated{Path: "/numbers"}, state.GiveCounts{Model: "top-loader"})
	}},
	{"numbers-give-name-spanish", func() *stage {
		return newStage().send(state.ChooseLang{Lang: "es"}, state.Navigated{Path: "/numbers"}, state.GiveCounts{Model: "top-loader"}, state.SetBench{Text: longWords})
	}},
	{"numbers-give-busy", func() *stage {
		return lending().send(state.GiveCounts{Model: "tray"}, state.LearnOn{Model: "tray", Done: 4, Units: 12})
	}},
	{"numbers-give", func() *stage { return giving(2) }},
	{"numbers-give-many-japanese", func() *stage { return giving(31).send(state.ChooseLang{Lang: "ja"}) }},
	{"refused-counts", func() *stage {
		return refusedCounts(state.FileCounts, "benches[0].counts[\"prior/lens\"]", "3 numbers, want 4")
	}},
	{"refused-counts-other", func() *stage {
		return refusedCounts(state.FileOther, "sha256", "\""+strings.Repeat("0", 64)+"\", want "+strings.Repeat("f", 64)+": the numbers here are others")
	}},
	{"numbers-learnt-german", func() *stage { return numbers().send(state.ChooseLang{Lang: "de"}) }},
	{"numbers-taken", func() *stage {
		return newStage().send(state.OwnRead{Models: []state.OwnModel{{ID: "tray", Title: "Motorised tray", Revision: "3+31.0f3a9c2e", SHA256: "0f3a9c2e", Added: "2026-03-04T10:00:00Z", Learnt: true}}},
			state.Navigated{Path: "/numbers"})
	}},
	{"intake-german", func() *stage {
		return newStage().send(state.ChooseLang{Lang: "de"}, state.Navigated{Path: "/new"}, state.StartUnit{})
	}},
	{"step-german", func() *stage {
		return newStage().send(state.ChooseLang{Lang: "de"}).takeIn("Graues Gerät, Regal 3").at(plan.DoTest, "motor-load").read()
	}},
	{"other-spanish", func() *stage { return evening().pane(state.PaneOther).send(state.ChooseLang{Lang: "es"}) }},
	{"sheet-export-german", func() *stage {
		return evening().send(state.ChooseLang{Lang: "de"}, state.OpenSheet{Sheet: state.SheetExport})
	}},
	{"odds-japanese", func() *stage {
		return evening().pane(state.PaneOdds).send(state.ChooseLang{Lang: "ja"}, state.LookAt{Place: "lens"})
	}},
	{"settings-japanese", func() *stage {
		return newStage().send(state.ChooseLang{Lang: "ja"}, state.Navigated{Path: "/settings"})
	}},
	{"unit-gone", func() *stage {
		return newStage().send(state.Navigated{Path: "/unit/01NOTHERE"}, state.OpenFailed{ID: "01NOTHERE", Trouble: state.TroubleGone})
	}},
	{"lost", func() *stage { return newStage().send(state.Navigated{Path: "/nowhere/at/all"}) }},
}

// arrived is a bench that was read in from another device, with so much of it not there.
func arrived(lacking int) *stage {
	return newStage().send(state.Navigated{Path: "/move"}, state.Imported{Bench: true, New: 8113},
		state.Moved{Held: state.Held{Units: 214 - lacking, Steps: 8113, Photos: 61, Models: 2, Benches: 3, Check: "4f2a 91c0", Lacking: lacking}})
}

// reading is the camera at work, in a browser that reads codes.
func reading(seen state.CodesSeen) *stage {
	s := newStage()
	s.state.CanRead = true
	return s.send(state.Navigated{Path: "/move"}, state.LookForCodes{}, seen)
}

// many are the numbers from 1 to n.
func many(n int) []int {
	var all []int
	for i := range n {
		all = append(all, i+1)
	}
	return all
}

// ownPlaces is a unit whose model names places that no drawing knows.
func ownPlaces() *stage {
	s := newStage().takeIn("One with an arm")
	m := *s.state.Unit.Model
	m.ID = "arm"
	m.Components = slices.Clone(m.Components)
	for i := range m.Components {
		m.Components[i].Place = fmt.Sprintf("arm-%d", i/2)
	}
	m.Components[4].Words.Title = longWords
	return s.send(state.Opened{Trail: s.state.Unit.Trail, Model: &m})
}

// ownModels are two texts of one revision, and one with words that no list was made for.
var ownModels = []state.OwnModel{
	{ID: "shelf-player", Title: "Small player with a door and an outside adaptor", Revision: "2", SHA256: strings.Repeat("ab", 32), Added: "2026-03-04T10:11:12Z"},
	{ID: "shelf-player", Title: "Small player with a door and an outside adaptor", Revision: "2", SHA256: strings.Repeat("cd", 32), Added: "2026-03-03T10:11:12Z"},
	{ID: "other", Title: longWords + hostile, Revision: longWords, SHA256: strings.Repeat("ef", 32), Added: "2026-03-02T10:11:12Z"},
}

// refusedModel is a file that was not read in.
func refusedModel(defects ...state.Defect) state.Msg {
	return state.ImportFailed{File: state.RefusedFile{File: "mine-" + longWords + ".json", Defects: defects, More: 41 * (len(defects) / document.MaxDefects)}}
}

// evening is a unit with something of every kind on its trail.
var evening = once(func() *stage {
	return newStage().takeIn("Grey top-loader, shelf 3").read().send(
		state.SawOutcome{Test: "known-disc", Outcome: "asks"},
		state.SawOutcome{Test: "lens-look", Outcome: "filmed"},
		state.OpenSheet{Sheet: state.SheetNote}, state.SetText{Text: "A hair on the spindle. " + hostile}, state.ConfirmSheet{},
		state.Move{To: "open"},
	).at(plan.DoTest, "motor-rest").send(
		state.SetEntry{Text: "7.4"}, state.SendEntry{},
		state.TakeBack{N: 7},
		state.Move{To: "closed"},
		state.Repaired{ID: "clean-lens"},
	).at(plan.DoTest, "first-boot").send(
		state.OpenSheet{Sheet: state.SheetSkip}, state.SetText{Text: "The owner has the disc"}, state.ConfirmSheet{},
		state.SawOutcome{Test: "known-disc", Outcome: "boots"},
	)
})

// forty is a unit with forty events on its trail: results of many tests, setups walked,
// repairs that were proven, notes, and slips that were taken back. A calm one proposes
// no step.
func forty(calm bool) *stage {
	if calm {
		return fortyCalm()
	}
	return fortyEvents()
}

var (
	fortyCalm   = once(func() *stage { return fill(true) })
	fortyEvents = once(func() *stage { return fill(false) })
)

func fill(calm bool) *stage {
	s := newStage()
	s.stuck, s.calm = true, calm
	s.takeIn("Grey top-loader, shelf 3").read() // nobody looks at the odds on the way, and they take their time
	saw := func(test, outcome string) {
		s.send(state.SawOutcome{Test: model.TestID(test), Outcome: model.OutcomeID(outcome)})
	}
	note := func(text string) {
		s.send(state.OpenSheet{Sheet: state.SheetNote}, state.SetText{Text: text}, state.ConfirmSheet{})
	}
	saw("known-disc", "asks")
	saw("listen", "seeks")
	saw("no-disc", "long")
	saw("disc-look", "fine")
	saw("disc-label", "fits")
	note("Smells of nothing. The owner says it began with long films and got worse over a winter in the loft.")
	saw("spin-look", "still")
	s.send(state.TakeBack{N: 9})
	saw("spin-look", "speed")
	saw("all-ways-up", "same")
	saw("knock", "steady")
	saw("lens-look", "filmed")
	s.send(state.Repaired{ID: "clean-lens"})
	saw("known-disc", "slow")
	saw("five-starts", "some")
	s.send(state.Move{To: "open"})
	saw("lens-search", "both")
	saw("sled-home", "home")
	s.measure("motor-rest", "7.4").send(state.TakeBack{N: 21})
	s.measure("motor-rest", "7.52").send(state.Move{To: "drive-out"})
	saw("sled-hand", "drags")
	saw("gear-look", "dirty")
	note("The rails are dry.")
	s.send(state.Repaired{ID: "grease-sled"}, state.Repaired{ID: "reseat-flex"})
	saw("sled-hand", "glides")
	saw("spindle-hand", "free")
	s.send(state.Move{To: "closed"})
	saw("known-disc", "boots")
	saw("first-boot", "boots")
	saw("where-fails", "whole")
	saw("pressed-recorded", "both")
	saw("music-data", "both")
	saw("five-starts", "five")
	saw("no-disc", "says")
	note("Played a whole disc while I put the tools away.")
	s.stuck = false
	saw("listen", "normal")
	return s
}

// soaking is a unit on which the starts of a test were counted for so many seconds.
func soaking(test, runs string, seconds int) *stage {
	s := newStage().takeIn("Grey one").read().at(plan.DoTest, test)
	s.send(state.SetHabit{Habit: state.HabitMore, On: true}, state.StartSoak{Test: model.TestID(test)}, state.Soaked{ID: storyID, Since: "2026-03-04T11:00:00Z", Seconds: seconds})
	for _, run := range runs {
		s.send(state.CountRun{Good: run == '+'})
	}
	return s
}

// reportOf ends a unit as signed off and shows its report.
func reportOf(s *stage) *stage {
	s.send(state.OpenSheet{Sheet: state.SheetSignOff}, state.ConfirmSheet{})
	s.state.Route = state.Route{Screen: state.ScreenReport, Unit: storyID}
	return s
}

// fullBench is a list of units of every status and with every kind of label.
func fullBench() *stage {
	s := newStage()
	cards := []state.Card{
		{ID: "A1", Label: "Grey top-loader, shelf 3", Model: "Top-loader with a lid switch", Created: "2026-03-01T10:00:00Z", Changed: "2026-03-04T10:00:00Z", Steps: 12, Events: 12, Status: state.StatusOpen, Minutes: 41, Money: 3.4, Currency: "EUR"},
		{ID: "A2", Label: longWords, Model: "Slot-in with rollers", Created: "2026-03-01T10:00:00Z", Changed: "2026-03-04T09:00:00Z", Steps: 1, Events: 1, Status: state.StatusSignedOff, Minutes: 125, Money: 1234.5, Currency: "JPY"},
		{ID: "A3", Label: hostile, Model: "Motorised tray", Changed: "2026-03-03T10:00:00Z", Steps: 40, Events: 40, Status: state.StatusWrittenOff, Currency: "CHF"},
		{ID: "A4", Label: "Damaged one", Changed: "2026-03-02T10:00:00Z", Steps: 3, Events: 3, Status: state.StatusReturned, Damaged: true, Currency: "USD"},
		{ID: "01ARYZ6S41TPTWXQQCJDG5NZ2T", Label: "01ARYZ6S41TPTWXQQCJDG5NZ2T", Damaged: true}, // its head cannot be read
		{ID: "A5", Label: "Away", Archived: true},
	}
	for i := range 4 {
		c := cards[0]
		c.ID, c.Label = fmt.Sprintf("B%d", i), fmt.Sprintf("Box %d", i)
		cards = append(cards, c)
	}
	return s.send(state.BenchRead{Cards: cards, Count: state.Count{Units: len(cards), Away: 1, Listed: len(cards) - 1}})
}
