package state

import (
	"slices"

	"pitwise/app/words"
	"pitwise/engine/catalog"
)

// Update answers a message with the new State and the effects it asks for, to be
// carried out in order. It is pure, and does not change what s points to.
func Update(s State, m Msg) (State, []Effect) {
	before := s.reads()
	s, effects := update(s, m)
	if s.reads() != before {
		var hush []Effect
		s, hush = s.hushed()
		effects = append(effects, hush...)
	}
	return s, effects
}

func update(s State, m Msg) (State, []Effect) {
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
	case BenchRead:
		s.Cards, s.Count = m.Cards, m.Count
		if s.Archived && s.Count.Away == 0 { // nothing is put away any more
			return onBench(s, ShowArchived{})
		}
	case UpdateWaiting:
		s.Update = true
	case WentOffline:
		s.Offline = m.Offline
	case ChooseLang:
		return spoken(s, m)
	case WordsMissing:
		s.Wanted = ""
		return s.complain(TroubleWords, ""), nil
	case ChooseTheme:
		s.Theme = m.Theme
		return s, []Effect{KeepSetting{Key: "theme", Value: string(m.Theme)}}
	case SetHabit:
		return setHabit(s, m)
	case VoicesKnown, ReadAloud, StopAloud, ReadOut:
		return aloud(s, m)
	case Dismiss:
		if s.Notice.Serial == m.Serial {
			s.Notice = Notice{Serial: m.Serial}
		}

	case SearchBench, FilterBench, ShowArchived, MoreCards, SetArchived, AskDelete, DeleteUnit, Deleted:
		return onBench(s, m)
	case PickImport, NothingPicked, ImportFailed, ReadingOn, StopImport, CopyDefects, CloseDefects, OwnRead, AskDrop, ForgetModel:
		return own(s, m)
	case LearnFrom, JudgeUnits, Judged, LearnOn, Learnt, LearnFailed, TakeLearnt, LeaveLearnt:
		return learnStep(s, m)
	case LentRead, DropBench, RestoreBench, SetBench, BenchNamed, GiveCounts, NameBench, CountUnits, Counted, TakeCounts:
		return lending(s, m)
	case WeighTools, StopWeighing, WeighingWith, Weighed:
		return weighing(s, m)
	case FiguresRead, EditFigure, SetFigure, SetReason, KeepFigure, FigureKept:
		return figures(s, m)
	case LookForCodes, StopLooking, PickCodes, CodesAnew, CodesSeen:
		return codes(s, m)
	case Moved:
		s.Moving.In, s.Moving.Checking = &m.Held, false
	case Imported:
		return readIn(s, m)
	case BookRead:
		s.Book, s.BookDone, s.BookAll = m.Entries, m.Done, m.All
	case AddUpBy:
		s.BookBy = m.By
	case TakeBook:
		return s, []Effect{TakeBook{Form: m.Form, Way: m.Way, Entries: s.Book, Lang: s.Lang}}
	case BackUp:
		return s, []Effect{BackUp{Way: m.Way, Photos: s.WithPhotos, Memory: s.InMemory()}}

	case TakePhotos, PhotosRead, PhotoTaken, PhotosTaken, PhotoRefused, ShowPhoto, PhotoShown, SetCaption, KeepCaption,
		AskRemove, RemovePhoto, PhotoGone, StorePhotos, PhotosElsewhere, WithPhotos:
		return photo(s, m)

	case PickModel, ModelLoaded, ModelFailed, SetLabel, SetNotes, StartUnit:
		return takeIn(s, m)
	case Answer, SetTool, SetCurrency, SetTerm:
		if s.Route.Screen == ScreenIntake {
			return takeIn(s, m)
		}
		if s.Unit != nil {
			return sheet(s, m)
		}
	case Created:
		return created(s, m)
	case CreateFailed:
		return createFailed(s, m)

	case Taken:
		return takenAway(s, m)
	case TakeFailed:
		if m.Trouble != NoTrouble {
			return s.complain(m.Trouble, m.Detail), nil
		}
		return s.complain(TroubleShare, m.Detail), nil
	case SaveRaw, Renew, Persist, CreateSample, PrintOut:
		return s, []Effect{m} // nothing is to be decided

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
		return elsewhere(s, m)
	default:
		if s.Unit == nil {
			return s, nil
		}
		return work(s, m)
	}
	return s, nil
}

// onBench answers what concerns the list of units.
func onBench(s State, m Msg) (State, []Effect) {
	switch m := m.(type) {
	case SearchBench:
		s.Search, s.More = m.Text, 0
		return s, []Effect{s.readBench()}
	case FilterBench:
		s.Only, s.More, s.Cards = m.Status, 0, nil
		return s, []Effect{s.readBench()}
	case ShowArchived:
		s.Archived, s.More, s.Cards = m.On, 0, nil
		return s, []Effect{s.readBench()}
	case MoreCards:
		if len(s.Cards) < s.Count.Listed {
			s.More = len(s.Cards) + pageOfCards
			return s, []Effect{s.readBench()}
		}
	case SetArchived:
		if s.shows(m.ID) {
			u := *s.Unit
			u.Archived = m.On
			s.Unit = &u
		}
		return s, []Effect{m, s.readBench()}
	case AskDelete:
		s.Deleting = m.ID
	case DeleteUnit:
		s.Deleting = ""
		return s, []Effect{m}
	case Deleted:
		return deleted(s, m)
	}
	return s, nil
}

// readIn says what was read in, and goes there.
func readIn(s State, m Imported) (State, []Effect) {
	s.Reading, s.ReadingDone, s.ReadingAll = false, 0, 0
	s.Reader = Reader{}
	if m.Model != nil {
		return modelTaken(s, m)
	}
	if m.Counts != nil {
		return countsTaken(s, m)
	}
	s.Moving.Checking = m.Bench
	if m.Same {
		s = s.notify(NoticeSame, "", 0)
	} else {
		s = s.notify(NoticeImported, "", m.New)
	}
	if m.New == 0 && m.Listed > 0 {
		s = s.notify(NoticeListed, "", m.Listed)
	}
	if m.New+m.Listed == 0 && m.Lent > 0 {
		s = s.notify(NoticeLent, "", m.Lent)
	}
	if m.Photos > 0 || m.Refused > 0 {
		s = s.notify(NoticePhotos, "", m.New)
		s.Notice.Photos, s.Notice.Refused = m.Photos, m.Refused
	}
	if m.Bench && s.Route.Screen == ScreenMove {
		return s, []Effect{s.readBench()} // what is here is said there
	}
	if m.Bench {
		return s, []Effect{s.readBench(), GoTo{Route{Screen: ScreenBench}.Path()}}
	}
	return s, []Effect{s.readBench(), GoTo{Route{Screen: ScreenUnit, Unit: m.ID}.Path()}}
}

// takenAway says that a file was handed over.
func takenAway(s State, m Taken) (State, []Effect) {
	kind := map[Way]NoticeKind{WaySave: NoticeSaved, WayShare: NoticeShared, WayCopy: NoticeCopied}[m.Way]
	s = s.notify(kind, "", 0)
	effects := []Effect{DismissLater{s.Notice.Serial}}
	if m.Bench {
		s.Storage.Backed = m.At
		s.Moving.Out = m.Held
	}
	if s.Unit != nil {
		u := *s.Unit
		u.Marks.Last, u.Sheet = m.At, NoSheet
		s.Unit = &u
		effects = append(effects, KeepMarks{u.Trail.ID, u.Marks})
	}
	return s, effects
}

// elsewhere reads a unit again that another window recorded something on.
func elsewhere(s State, m Elsewhere) (State, []Effect) {
	if s.Unit != nil && s.Unit.Trail.ID == m.ID {
		if !s.Unit.Saving {
			return s.notify(NoticeElsewhere, "", 0), []Effect{Open(m), s.readBench()}
		}
		u := *s.Unit
		u.Behind = true // read again once the event under way is stored
		s.Unit = &u
	}
	return s, []Effect{s.readBench()}
}

// spoken puts the page into another language, with what is shipped in words.
func spoken(s State, m ChooseLang) (State, []Effect) {
	if !words.Has(m.Lang) {
		s.Wanted = m.Lang
		return s, []Effect{FetchWords(m)} // and then again
	}
	s.Lang, s.Wanted = m.Lang, ""
	if s.Unit != nil && s.Unit.Model != nil {
		u := *s.Unit
		u.Model = catalog.Speak(u.Model, s.Lang)
		s.Unit = &u
	}
	if s.Draft.Model != nil {
		s.Draft.Model = catalog.Speak(s.Draft.Model, s.Lang)
	}
	return s, []Effect{KeepSetting{Key: "lang", Value: m.Lang}}
}

func started(s State, m Started) (State, []Effect) {
	s.Lang, s.Prefix, s.Theme, s.CanShare, s.CanRead = m.Lang, m.Prefix, m.Theme, m.CanShare, m.CanRead
	s.Storage, s.Cards, s.Count = m.Storage, m.Cards, m.Count
	s.Storage.Memory = m.Storage.Trouble != NoTrouble
	s.Ready = true
	s.Remembered, s.Habits, s.Bench = remembered(m.Terms), habitsOf(m.Habits), m.Bench
	s.Draft = draftOf(m.Draft, freshDraft(s))
	return arrive(s)
}

func navigated(s State, m Navigated) (State, []Effect) {
	before := s.Route
	s = s.readOut()
	s.Weighing.Busy, s.Figures.Edit = false, nil // leaving ends it
	s.Route, s.Dropping, s.Deleting = ParseRoute(m.Path), "", ""
	if !s.Ready {
		return s, nil
	}
	if before.Screen == ScreenUnit && s.Route.Screen == ScreenUnit && before.Unit == s.Route.Unit {
		return s, []Effect{ShowTop{}}
	}
	if k := s.Notice.Kind; k == NoticeRecorded || k == NoticeVoided || k == NoticeRestored {
		s.Notice = Notice{Serial: s.Notice.Serial} // it speaks of the unit that was left
	}
	s, effects := arrive(s)
	s, away := albumAway(s)
	s, blind := lookAway(s)
	return s, append(slices.Concat(effects, away, blind), ShowTop{})
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
		effects := []Effect{Rest{}, ReadModels{}, ReadPhotos{}}
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
	case ScreenBook:
		s = letGo(s)
		return s, []Effect{Rest{}, ReadBook{Lang: s.Lang}}
	case ScreenNumbers:
		s = letGo(s)
		s.Lending.Out = nil
		return s, []Effect{Rest{}, ReadModels{}, ReadLent{}}
	case ScreenWorth:
		return s, []Effect{Rest{}, ReadModels{}}
	case ScreenFigures:
		return s, []Effect{Rest{}, ReadModels{}}
	case ScreenMove:
		s = letGo(s)
	case ScreenSettings:
		return s, []Effect{Rest{}, MeasureRoom{}}
	}
	return s, []Effect{Rest{}}
}

// reckon asks for the unit on the screen to be worked out anew.
func reckon(s State) (State, []Effect) {
	u := *s.Unit
	u.Turn++
	u.Account, u.Proposals, u.Settled, u.Doubts, u.Origin, u.Conflict, u.Hanging = nil, nil, false, nil, nil, Conflict{}, Hanging{}
	if u.Model == nil {
		u.Conflict = Conflict{Kind: ConflictModel, Detail: u.Trail.Model.ID + " " + u.Trail.Model.Revision}
		s.Unit = &u
		return s, []Effect{Rest{}}
	}
	s.Unit = &u
	return s, []Effect{Reckon{ID: u.Trail.ID, Turn: u.Turn, Trail: u.Trail, Model: u.Model}}
}
