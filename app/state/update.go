package state

import (
	"slices"
	"strings"

	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// Update answers a message with the new State and the effects it asks for, to be
// carried out in order. It is pure, and does not change what s points to.
func Update(s State, m Msg) (State, []Effect) {
	switch m := m.(type) {
	case Started:
		return started(s, m)
	case Listed:
		s.Models = m.Models
		if s.Route.Screen == ScreenIntake {
			return arrive(s)
		}
	case Navigated:
		return navigated(s, m)
	case StorageChanged:
		s.Storage.Trouble = m.Trouble
	case RoomMeasured:
		trouble := s.Storage.Trouble
		memory := s.Storage.Memory
		s.Storage = m.Storage
		s.Storage.Trouble, s.Storage.Memory = trouble, memory
	case StorageLost:
		return lost(s), nil
	case TakeRaw:
		return s, []Effect{SaveRaw(m)}
	case BenchRead:
		s.Cards, s.Count = m.Cards, m.Count
	case UpdateWaiting:
		s.Update = true
	case TakeUpdate:
		return s, []Effect{Renew{}}
	case WentOffline:
		s.Offline = m.Offline
	case ChooseLang:
		s.Lang = m.Lang
		if s.Unit != nil && s.Unit.Model != nil {
			u := *s.Unit
			u.Model = catalog.Speak(u.Model, s.Lang)
			s.Unit = &u
		}
		if s.Draft.Model != nil {
			s.Draft.Model = catalog.Speak(s.Draft.Model, s.Lang)
		}
		return s, []Effect{KeepSetting{Key: "lang", Value: m.Lang}}
	case ChooseTheme:
		s.Theme = m.Theme
		return s, []Effect{KeepSetting{Key: "theme", Value: string(m.Theme)}}
	case Dismiss:
		if s.Notice.Serial == m.Serial {
			s.Notice = Notice{Serial: m.Serial}
		}
	case AskPersist:
		return s, []Effect{Persist{}}

	case SearchBench:
		s.Search, s.More = m.Text, 0
		return s, []Effect{s.readBench()}
	case ShowArchived:
		s.Archived, s.More, s.Cards = m.On, 0, nil
		return s, []Effect{s.readBench()}
	case MoreCards:
		if len(s.Cards) < s.Count.Listed {
			s.More = len(s.Cards) + pageOfCards
			return s, []Effect{s.readBench()}
		}
	case Archive:
		if s.shows(m.ID) {
			u := *s.Unit
			u.Archived = m.On
			s.Unit = &u
		}
		return s, []Effect{SetArchived(m), s.readBench()}
	case OpenSample:
		return s, []Effect{CreateSample{}}
	case PickImport, NothingPicked, ImportFailed, ReadingOn, StopImport, CopyDefects, CloseDefects, OwnRead, AskDrop, DropModel:
		return own(s, m)
	case Imported:
		s.Reading, s.ReadingDone, s.ReadingAll = false, 0, 0
		if m.Model != nil {
			return modelTaken(s, m)
		}
		if m.Same {
			s = s.notify(NoticeSame, "", 0)
		} else {
			s = s.notify(NoticeImported, "", m.New)
		}
		if m.New == 0 && m.Listed > 0 {
			s = s.notify(NoticeListed, "", m.Listed)
		}
		if m.Photos > 0 || m.Refused > 0 {
			s = s.notify(NoticePhotos, "", m.New)
			s.Notice.Photos, s.Notice.Refused = m.Photos, m.Refused
		}
		if m.Bench {
			return s, []Effect{s.readBench(), GoTo{Route{Screen: ScreenBench}.Path()}}
		}
		return s, []Effect{s.readBench(), GoTo{Route{Screen: ScreenUnit, Unit: m.ID}.Path()}}
	case BackUpAll:
		return s, []Effect{BackUp{Way: m.Way, Photos: s.WithPhotos, Memory: s.InMemory()}}

	case TakePhotos, PhotosRead, PhotoTaken, PhotosTaken, PhotoRefused, ShowPhoto, PhotoShown, SetCaption, KeepCaption,
		AskRemove, RemovePhoto, PhotoGone, StorePhotos, PhotosElsewhere, WithPhotos:
		return photo(s, m)

	case PickModel, ModelLoaded, ModelFailed, SetLabel, SetNotes, SetOutcome, SetTool, SetCurrency, SetTerm,
		StartUnit, Created, CreateFailed:
		return takeIn(s, m)

	case Taken:
		kind := map[Way]NoticeKind{WaySave: NoticeSaved, WayShare: NoticeShared, WayCopy: NoticeCopied}[m.Way]
		s = s.notify(kind, "", 0)
		effects := []Effect{DismissLater{s.Notice.Serial}}
		if m.Bench {
			s.Storage.Backed = m.At
		}
		if s.Unit != nil {
			u := *s.Unit
			u.Marks.Last, u.Sheet = m.At, NoSheet
			s.Unit = &u
			effects = append(effects, KeepMarks{u.Trail.ID, u.Marks})
		}
		return s, effects
	case TakeFailed:
		if m.Trouble != NoTrouble {
			return s.complain(m.Trouble, m.Detail), nil
		}
		return s.complain(TroubleShare, m.Detail), nil
	case Print:
		return s, []Effect{PrintOut{}}

	case Opened:
		return opened(s, m)
	case OpenFailed:
		return openFailed(s, m)
	case Appended:
		return appended(s, m)
	case AppendFailed:
		return appendFailed(s, m)
	case SaveAgain:
		return saveAgain(s)
	case Elsewhere:
		if s.Unit != nil && s.Unit.Trail.ID == m.ID {
			if !s.Unit.Saving {
				return s.notify(NoticeElsewhere, "", 0), []Effect{Open{m.ID}, s.readBench()}
			}
			u := *s.Unit
			u.Behind = true // read again once the event under way is stored
			s.Unit = &u
		}
		return s, []Effect{s.readBench()}
	default:
		if s.Unit == nil {
			return s, nil
		}
		return work(s, m)
	}
	return s, nil
}

func started(s State, m Started) (State, []Effect) {
	s.Lang, s.Prefix, s.Theme, s.CanShare = m.Lang, m.Prefix, m.Theme, m.CanShare
	s.Storage, s.Cards, s.Count = m.Storage, m.Cards, m.Count
	s.Storage.Memory = m.Storage.Trouble != NoTrouble
	s.Ready = true
	s.Draft = freshDraft(s)
	return arrive(s)
}

func navigated(s State, m Navigated) (State, []Effect) {
	before := s.Route
	s = s.readOut()
	s.Route, s.Dropping = ParseRoute(m.Path), ""
	if !s.Ready {
		return s, nil
	}
	if before.Screen == ScreenUnit && s.Route.Screen == ScreenUnit && before.Unit == s.Route.Unit {
		return s, []Effect{ShowTop{}}
	}
	s, effects := arrive(s)
	s, away := albumAway(s)
	return s, append(append(effects, away...), ShowTop{})
}

// arrive asks for what the screen of the route needs.
func arrive(s State) (State, []Effect) {
	switch s.Route.Screen {
	case ScreenUnit, ScreenReport:
		if s.Unit != nil && s.Unit.Trail.ID == s.Route.Unit {
			return album(s)
		}
		s = letGo(s)
		s.Absent = NoTrouble
		if u, ok := s.Pending[s.Route.Unit]; ok {
			return takeUp(s, u)
		}
		return s, []Effect{Rest{}, Open{s.Route.Unit}}
	case ScreenIntake:
		s = letGo(s)
		effects := []Effect{Rest{}, ReadModels{}}
		if s.Draft.Model == nil && s.Draft.ModelID == "" && len(s.Models) > 0 {
			s.Draft.ModelID = s.Models[0].ID
		}
		if s.Draft.Model == nil && s.Draft.ModelID != "" {
			effects = append(effects, LoadModel{s.Draft.ModelID})
		}
		return s, effects
	case ScreenBench:
		s = letGo(s)
		return s, []Effect{Rest{}, s.readBench()}
	case ScreenSettings:
		return s, []Effect{Rest{}, MeasureRoom{}}
	}
	return s, []Effect{Rest{}}
}

func freshDraft(s State) Draft {
	d := Draft{Currency: words.In(s.Lang).Currency()}
	for t := range d.Terms {
		d.Terms[t] = words.In(s.Lang).Typed(defaults[t] * words.CurrencyScale(d.Currency))
	}
	return d
}

func takeIn(s State, m Msg) (State, []Effect) {
	d := s.Draft
	var effects []Effect
	switch m := m.(type) {
	case PickModel:
		if m.ID == d.ModelID && d.Model != nil {
			return s, nil
		}
		d.ModelID, d.Model, d.Outcome, d.Tools = m.ID, nil, "", nil
		effects = []Effect{LoadModel{m.ID}}
	case ModelLoaded:
		if m.ID != d.ModelID {
			return s, nil
		}
		d.Model = catalog.Speak(m.Model, s.Lang)
	case ModelFailed:
		return s.complain(TroubleModel, m.Detail), nil
	case SetLabel:
		d.Label = m.Text
	case SetNotes:
		d.Notes = m.Text
	case SetOutcome:
		d.Outcome = m.ID
	case SetTool:
		d = d.withTool(m.ID, m.On)
	case SetCurrency:
		// The amounts keep their meaning only roughly: what was never touched gets
		// the default of the new currency, what was typed stays.
		w := words.In(s.Lang)
		for t := range d.Terms {
			if d.Terms[t] == w.Typed(defaults[t]*words.CurrencyScale(d.Currency)) {
				d.Terms[t] = w.Typed(defaults[t] * words.CurrencyScale(m.Code))
			}
		}
		d.Currency = m.Code
	case SetTerm:
		if m.Term >= 0 && m.Term < TermCount {
			d.Terms[m.Term] = m.Text
		}
	case StartUnit:
		d.Tried = true
		if parse := words.In(s.Lang).Number; d.Ready(parse) && !d.Starting && s.Intake.Busy == 0 {
			d.Starting = true
			t := d.Trail(parse)
			t.Events = []trail.Event{{
				N: 1, Kind: trail.Result, Test: d.Model.Tests[d.Model.Intake].ID, Outcome: d.Outcome,
			}}
			effects = []Effect{Create{Trail: t, Model: d.Model}}
		}
	case Created:
		d.Starting = d.Starting && m.Sample
		if !m.Sample {
			d = freshDraft(s)
			s.Intake = Album{} // the runner has put them with the unit
		}
		effects = []Effect{s.readBench(), GoTo{Route{Screen: ScreenUnit, Unit: m.Trail.ID}.Path()}}
		if !s.Storage.Asked {
			effects = append(effects, Persist{})
		}
	case CreateFailed:
		// The unit begins all the same, in memory, with the export at hand.
		s = letGo(s)
		s.Storage.Trouble = m.Trouble
		s.Unit = &Unit{Unit: bench.Unit{Trail: m.Trail, Model: m.Model}, Unsaved: len(m.Trail.Events), Trouble: m.Trouble}
		s.Absent = NoTrouble
		if !m.Sample {
			s.Draft = freshDraft(s)
			s = albumUnsaved(s)
		}
		s, effects = reckon(s)
		return s, append(effects, GoTo{Route{Screen: ScreenUnit, Unit: m.Trail.ID}.Path()})
	}
	s.Draft = d
	return s, effects
}

// reckon asks for the unit on the screen to be worked out anew.
func reckon(s State) (State, []Effect) {
	u := *s.Unit
	u.Turn++
	u.Account, u.Proposals, u.Settled, u.Doubts, u.Origin, u.Conflict = nil, nil, false, nil, nil, Conflict{}
	if u.Model == nil {
		u.Conflict = Conflict{Kind: ConflictModel, Detail: u.Trail.Model.ID + " " + u.Trail.Model.Revision}
		s.Unit = &u
		return s, []Effect{Rest{}}
	}
	s.Unit = &u
	return s, []Effect{Reckon{ID: u.Trail.ID, Turn: u.Turn, Trail: u.Trail, Model: u.Model}}
}

// work handles the messages that need a unit on the screen.
func work(s State, m Msg) (State, []Effect) {
	u := *s.Unit
	id := u.Trail.ID
	keep := func() (State, []Effect) { s.Unit = &u; return s, nil }
	switch m := m.(type) {
	case Reckoned:
		if m.ID != id || m.Turn != u.Turn {
			return s, nil
		}
		u.Account, u.Conflict = m.Account, m.Conflict
		return keep()
	case Thought:
		if m.ID != id || m.Turn != u.Turn {
			return s, nil
		}
		u.Proposals, u.Settled = m.Proposals, m.Settled
		return keep()
	case Looked:
		if m.ID != id || m.Turn != u.Turn {
			return s, nil
		}
		u.Origin, u.Doubts = m.Origin, m.Doubts
		if u.Doubts == nil {
			u.Doubts = []trail.Doubt{}
		}
		return keep()

	case LookAt:
		if u.Place == m.Place {
			m.Place = ""
		}
		u.Place = m.Place
		return keep()
	case TryHere:
		u.Chosen, u.HasChosen, u.InPlace, u.Entry, u.Marks.Ticked = m.Step, true, true, "", nil
		s.Unit = &u
		return s, []Effect{ShowTop{}}
	case Choose:
		u.Chosen, u.HasChosen, u.InPlace, u.Entry, u.Marks.Ticked = m.Step, true, false, "", nil
		s.Unit = &u
		if s.Route.Pane != PaneStep {
			return s, []Effect{GoTo{Route{Screen: ScreenUnit, Unit: id}.Path()}}
		}
		return s, []Effect{ShowTop{}}
	case ChooseFirst:
		u.HasChosen, u.InPlace, u.Entry = false, false, ""
		s.Unit = &u
		return s, []Effect{ShowTop{}}
	case Acknowledge:
		for _, id := range m.IDs {
			if !slices.Contains(u.Marks.Seen, id) {
				u.Marks.Seen = append(slices.Clip(u.Marks.Seen), id)
			}
		}
		s.Unit = &u
		return s, []Effect{KeepMarks{id, u.Marks}}
	case Tick:
		ticked := slices.DeleteFunc(slices.Clone(u.Marks.Ticked), func(k string) bool { return k == m.Mark })
		if m.On {
			ticked = append(ticked, m.Mark)
		}
		u.Marks.Ticked = ticked
		s.Unit = &u
		return s, []Effect{KeepMarks{id, u.Marks}}
	case SetEntry:
		u.Entry = m.Text
		return keep()
	case FindOther:
		u.Find = m.Text
		return keep()
	case OpenSheet:
		var left []Effect
		if u.Sheet == SheetNote && m.Sheet != SheetNote {
			left = noteLeft(s, u.Trail)
		}
		u.Sheet, u.Text = m.Sheet, m.Text
		if m.Sheet == SheetSignOff || m.Sheet == SheetWrite || m.Sheet == SheetReturn {
			u.Causes = nil // nobody has said anything yet
		}
		s.Unit = &u
		return s, left
	case SetText:
		u.Text = m.Text
		return keep()
	case SetCause:
		causes := slices.DeleteFunc(slices.Clone(u.Causes), func(c model.ModeID) bool { return c == m.Mode })
		if m.On {
			causes = append(causes, m.Mode)
		}
		u.Causes = causes
		return keep()

	case SawOutcome:
		return record(s, trail.Event{Kind: trail.Result, Test: m.Test, Outcome: m.Outcome})
	case SendEntry:
		p, ok := u.Current()
		x, err := words.In(s.Lang).Number(u.Entry)
		if !ok || err != nil || p.Step.Kind != plan.DoTest || u.Model.Tests[p.Step.Index].Reading == nil {
			return s, nil
		}
		return record(s, trail.Event{Kind: trail.Result, Test: u.Model.Tests[p.Step.Index].ID, Reading: &x})
	case Move:
		// Keep at what the way leads to, so that the advice does not turn round halfway.
		if p, ok := u.Current(); ok && !u.HasChosen && len(u.Way(p)) > 0 {
			u.Chosen, u.HasChosen = p.Step, true
			s.Unit = &u
		}
		return record(s, trail.Event{Kind: trail.Setup, Setup: m.To})
	case Repaired:
		return record(s, trail.Event{Kind: trail.Repair, Repair: m.ID})
	case TakeBack:
		if m.N < 1 || m.N > len(u.Trail.Events) {
			return s, nil
		}
		return record(s, trail.Event{Kind: trail.Void, Of: m.N})
	case ConfirmSheet:
		return confirm(s)
	case StartTimer:
		if m.Minutes <= 0 {
			u.Marks.Timer, u.Left = "", 0
			s.Unit = &u
			return s, []Effect{StopTimer{}, KeepMarks{id, u.Marks}}
		}
		return s, []Effect{RunTimer{ID: id, Minutes: m.Minutes}}
	case Ticked:
		return ticked(s, m)
	case StartSoak, EndSoak, CountRun, UndoRun, Soaked:
		return soak(s, m)
	case TakeAway:
		return s, []Effect{TakeOut{
			Form: m.Form, Way: m.Way, Trail: u.Trail, Model: u.Model, Account: u.Account, Origin: u.Origin, Damaged: u.Damaged, Lang: s.Lang, Photos: s.WithPhotos,
		}}
	}
	return s, nil
}

// ticked follows the bench timer. Its end is kept, so that it outlives the page.
func ticked(s State, m Ticked) (State, []Effect) {
	u := *s.Unit
	if m.ID != u.Trail.ID {
		return s, nil
	}
	fresh := u.Marks.Timer != m.End
	u.Marks.Timer, u.Left = m.End, m.Left
	if m.Left <= 0 {
		u.Marks.Timer, u.Left = "", 0
		s.Unit = &u
		return s.notify(NoticeTimeUp, "", 0), []Effect{StopTimer{}, KeepMarks{m.ID, u.Marks}}
	}
	s.Unit = &u
	if fresh {
		return s, []Effect{KeepMarks{m.ID, u.Marks}}
	}
	return s, nil
}

// confirm records what a sheet asked for.
func confirm(s State) (State, []Effect) {
	u := *s.Unit
	sheet, text := u.Sheet, strings.TrimSpace(u.Text)
	e := trail.Event{}
	switch sheet {
	case SheetSkip:
		p, ok := u.Current()
		if !ok || p.Step.Kind != plan.DoTest {
			return s, nil
		}
		e = trail.Event{Kind: trail.Skip, Test: u.Model.Tests[p.Step.Index].ID, Reason: text}
	case SheetNote:
		if text == "" {
			return s, nil
		}
		e = trail.Event{Kind: trail.Note, Text: text}
	case SheetSignOff:
		e = trail.Event{Kind: trail.End, As: trail.SignedOff, Causes: u.Causes}
	case SheetWrite:
		e = trail.Event{Kind: trail.End, As: trail.WrittenOff, Causes: u.Causes}
	case SheetReturn:
		e = trail.Event{Kind: trail.End, As: trail.Returned, Causes: u.Causes}
	default:
		return s, nil
	}
	return record(s, e)
}

// repaired returns the modes that the live repairs of the trail fix most surely:
// a first guess at the causes when a unit ends, for the person to mend.
func repaired(m *model.Model, t *trail.Trail) []model.ModeID {
	if m == nil {
		return nil
	}
	var out []model.ModeID
	live := t.Live()
	for i, e := range t.Events {
		if !live[i] || e.Kind != trail.Repair {
			continue
		}
		r, ok := m.Repair(e.Repair)
		if !ok {
			continue
		}
		best := -1
		for j, c := range r.Change.Fixes {
			if best < 0 || c.P > r.Change.Fixes[best].P {
				best = j
			}
		}
		if best >= 0 {
			if id := m.Modes[r.Change.Fixes[best].Mode].ID; !slices.Contains(out, id) {
				out = append(out, id)
			}
		}
	}
	return out
}
