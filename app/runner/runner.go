package runner

import (
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A Runner carries out effects. Storage, Device, Send and Go must be set.
type Runner struct {
	Storage browser.Storage
	Device  browser.Device
	Send    func(state.Msg)   // hands a message to the page; safe from any goroutine
	Go      func(path string) // changes the address of the page
	Version string            // of the program: what another kept is worked out again

	once     sync.Once
	engine   Engine
	jobs     lane
	marks    lane         // of marks, which wait for no other work
	timer    atomic.Int64 // the latest RunTimer or StopTimer
	soak     atomic.Int64 // the latest RunSoak or StopSoak
	timing   atomic.Bool  // the timer runs
	learning atomic.Int64 // the latest Learn or StopLearning
	soaking  atomic.Bool  // the counter runs
	mu       sync.Mutex
	models   shelf[*model.Model] // by SHA-256, and the shipped ones by id
	asked    map[string]int      // how often a reading waits for its turn; see latest

	gallery gallery
	codes   codeReader

	compared map[string]string // summaries by unit that are as their units are; of the queue
	claimed  *claim            // of the bench that was read in last, until it is proved; of the queue
	stopped  atomic.Bool       // the reading of a file is to end
}

func (r *Runner) start() {
	r.once.Do(func() {
		r.compared = map[string]string{}
		r.engine = newEngine(r.Send, r.Device.Yield, shelved{r, libraryCloset, ""}, shelved{r, adviceCloset, r.Version + "/"})
		r.jobs, r.marks = newLane(), newLane()
	})
}

// A lane runs jobs one after the other.
type lane chan func()

func newLane() lane {
	l := make(lane, 256)
	go func() {
		for job := range l {
			job()
		}
	}()
	return l
}

// settle waits until the jobs so far are done, and those that they asked for.
func (l lane) settle() {
	for waiting := 1; waiting > 0; {
		done := make(chan struct{})
		l <- func() { waiting = len(l); close(done) }
		<-done
	}
}

// later runs a job after those before it.
func (r *Runner) later(job func()) {
	r.start()
	r.jobs <- job
}

// latest runs a job after those before it, unless the same is asked for again before
// its turn comes: what is read then is as new. Another window may record faster than
// this one reads.
func (r *Runner) latest(what string, job func()) {
	r.start()
	r.last(r.jobs, what, job)
}

// last runs a job in a lane, unless the same is asked for again before its turn comes.
func (r *Runner) last(l lane, what string, job func()) {
	r.mu.Lock()
	if r.asked == nil {
		r.asked = map[string]int{}
	}
	r.asked[what]++
	r.mu.Unlock()
	l <- func() {
		r.mu.Lock()
		r.asked[what]--
		again := r.asked[what] > 0
		r.mu.Unlock()
		if !again {
			job()
		}
	}
}

// Settle waits until everything asked so far is done, and what that asked for, but for
// reckonings.
func (r *Runner) Settle() {
	r.start()
	r.jobs.settle()
	r.marks.settle()
}

// Begin opens the storage and answers with state.Started; afterwards it passes on
// what other windows and the network do.
func (r *Runner) Begin() {
	r.later(func() {
		msg := state.Started{Prefix: browser.Root(), CanShare: r.Device.CanShare(), CanRead: r.Device.ReadsCodes(), Theme: state.ThemeAuto}
		err := r.Storage.Open()
		msg.Storage.Trouble = troubleOf(err)
		if err != nil {
			// Work on in memory rather than not at all; the page says so.
			r.Storage = browser.NewMemory()
		}
		if lang, _ := r.Storage.Kept("lang"); lang != "" {
			msg.Lang = r.speaks(words.Best(lang))
		} else {
			msg.Lang = r.speaks(words.Best(r.Device.Wishes()...))
		}
		if theme, _ := r.Storage.Kept("theme"); theme != "" {
			msg.Theme = state.Theme(theme)
		}
		msg.Terms, _ = r.Storage.Kept(state.SettingTerms)
		msg.Draft, _ = r.Storage.Kept(state.SettingDraft)
		msg.Habits, _ = r.Storage.Kept(state.SettingHabits)
		msg.Bench, _ = r.Storage.Kept(state.SettingBench)
		r.Device.Wear(string(msg.Theme), msg.Lang)
		if trouble := msg.Storage.Trouble; trouble == state.NoTrouble {
			msg.Storage = r.room()
		}
		// Without a list the page begins all the same, and asks again when it shows one.
		if list, _, err := r.benchList(state.ReadBench{}); err == nil {
			msg.Cards, msg.Count = list.Cards, list.Count
		}
		r.Send(msg)
		r.Send(state.Listed{Models: catalog.Heads()})
		r.Storage.Watch(func(c browser.Change) {
			switch c.Kind {
			case browser.UnitChanged:
				r.Send(state.Elsewhere{ID: c.Unit})
			case browser.PhotosChanged:
				r.Send(state.PhotosElsewhere{ID: c.Unit})
			case browser.Outdated:
				r.Send(state.StorageChanged{Trouble: state.TroubleOld})
			case browser.Cleared:
				r.Send(state.StorageLost{})
			}
		})
		r.Device.WatchVoices(r.hear)
		r.Device.WatchUpdate(func() { r.Send(state.UpdateWaiting{}) })
		r.Device.WatchNetwork(func(offline bool) { r.Send(state.WentOffline{Offline: offline}) })
	})
}

func (r *Runner) room() state.Storage {
	used, left, persisted := r.Device.Room()
	asked, _ := r.Storage.Kept("persist")
	backed, _ := r.Storage.Kept(backedKey)
	return state.Storage{Used: used, Room: left, Persisted: persisted, Forgets: !persisted && r.Device.Forgets(), Asked: persisted || asked != "", Backed: backed}
}

// Do carries out an effect. It returns at once.
func (r *Runner) Do(e state.Effect) {
	r.start()
	switch e := e.(type) {
	case state.GoTo:
		r.Go(e.Path)
	case state.ReadBench:
		r.latest(benchJob, func() { r.readBench(e) })
	case state.LoadModel:
		r.later(func() { r.loadModel(e.ID) })
	case state.Create:
		r.later(func() { r.create(e) })
	case state.CreateSample:
		r.later(r.createSample)
	case state.Open:
		r.latest(e.ID, func() { r.open(e.ID) })
	case state.Append:
		r.later(func() { r.append(e) })
	case state.Reckon:
		r.engine.Reckon(e)
	case state.Grow:
		r.engine.Grow(e)
	case state.Hang:
		r.engine.Hang(e)
	case state.Weigh:
		r.later(func() { r.weigh(e) })
	case state.ReadFigures:
		r.later(func() { r.readFigures(e) })
	case state.Override:
		r.later(func() { r.override(e) })
	case state.Rest:
		r.engine.Rest()
		r.stopTimer()
		r.stopSoak()
	case state.RunTimer:
		go r.runTimer(e, r.timer.Add(1))
	case state.StopTimer:
		r.stopTimer()
	case state.RunSoak:
		go r.runSoak(e, r.soak.Add(1))
	case state.StopSoak:
		r.stopSoak()
	case state.KeepMarks:
		r.last(r.marks, browser.MarksKey(e.ID), func() {
			text, _ := json.Marshal(e.Marks)
			// Marks are a convenience: if they cannot be kept the page goes on.
			_ = r.Storage.Keep(browser.MarksKey(e.ID), string(text))
		})
	case state.SetArchived:
		r.later(func() {
			if err := r.Storage.Archive(e.ID, e.On); err != nil {
				r.Send(state.StorageChanged{Trouble: troubleOf(err)})
			}
		})
	case state.ReadBook:
		r.latest("book", func() { r.readBook(e) })
	case state.TakeBook:
		go func() { r.handed(e.Way, r.hand(BookFile(e), e.Way)) }()
	case state.DeleteUnit:
		r.later(func() {
			r.marks.settle() // they would come after it
			// A unit that was never stored is gone all the same.
			if err := r.Storage.Delete(e.ID); err != nil && !errors.Is(err, browser.ErrGone) {
				r.Send(state.StorageChanged{Trouble: troubleOf(err)})
				return
			}
			r.Send(state.Deleted(e))
		})
	case state.FetchWords:
		go func() {
			if r.speaks(e.Lang) == e.Lang {
				r.Send(state.ChooseLang(e))
			} else {
				r.Send(state.WordsMissing{})
			}
		}()
	case state.KeepSetting:
		// What is typed comes letter by letter: the last of it is kept.
		r.latest("setting/"+e.Key, func() { r.keepSetting(e) })
	case state.TakeOut:
		// Not behind other work: the browser lets a page share or copy only shortly
		// after a tap.
		go r.takeOut(e)
	case state.BackUp:
		go r.backUp(e)
	case state.Speak:
		r.speak(e)
	case state.Hush:
		r.Device.Hush()
	case state.KeepPhotos:
		go r.keepPhotos(e)
	case state.ReadPhotos:
		r.later(func() { r.readPhotos(e) })
	case state.ForgetPhotos:
		r.later(func() { r.forget(func(a address) bool { return a.unit != "" }) })
	case state.OpenPhoto:
		r.later(func() { r.openPhoto(e.Unit, e.ID) })
	case state.ClosePhoto:
		r.later(func() { r.forget(func(a address) bool { return a.large }) })
	case state.RenamePhoto:
		r.later(func() { r.renamePhoto(e) })
	case state.DropPhoto:
		r.later(func() { r.dropPhoto(e.Unit, e.ID) })
	case state.KeepUnsaved:
		r.later(func() { r.keepUnsaved(e.Unit) })
	case state.ReadIn:
		r.stopped.Store(false)
		go r.readIn()
	case state.StopReading:
		r.stopped.Store(true)
	case state.MakeCodes:
		go r.makeCodes(e)
	case state.TurnLater:
		time.AfterFunc(betweenCodes, func() { r.Send(state.CodeTurned(e)) })
	case state.WatchCodes:
		go r.watchCodes(r.codes.turn.Add(1))
	case state.StopCodes:
		r.stopCodes()
	case state.ReadCodes:
		go r.readCodes()
	case state.ForgetCodes:
		r.forgetCodes()
	case state.ReadModels:
		r.later(r.readModels)
	case state.ForgetModel:
		r.later(func() { r.forgetModel(e.SHA256) })
	case state.Learn:
		turn := r.learning.Add(1)
		go r.learn(e, turn)
	case state.Judge:
		turn := r.learning.Add(1)
		go r.judge(e, turn)
	case state.CountFor:
		turn := r.learning.Add(1)
		go r.countFor(e, turn)
	case state.TakeCounts:
		go r.takeCounts(e)
	case state.ReadLent:
		r.later(r.readLent)
	case state.Lend:
		r.later(func() {
			all, _, err := r.lend(e.Counts)
			r.tellLent(e.Counts.Model, all, err)
		})
	case state.DropBench:
		r.later(func() { r.dropBench(e) })
	case state.StopLearning:
		r.learning.Add(1)
	case state.ListModel:
		r.later(func() { r.listModel(e) })
	case state.CopyText:
		go func() { r.handed(state.WayCopy, r.Device.Copy(e.Text)) }()
	case state.Persist:
		go func() {
			r.Device.Persist()
			r.later(func() {
				_ = r.Storage.Keep("persist", "asked")
				r.Send(state.RoomMeasured{Storage: r.room()})
			})
		}()
	case state.MeasureRoom:
		r.later(func() { r.Send(state.RoomMeasured{Storage: r.room()}) })
	case state.SaveRaw:
		go r.saveRaw(e.ID)
	case state.PrintOut:
		r.Device.Print()
	case state.Renew:
		r.Device.Renew()
	case state.DismissLater:
		time.AfterFunc(8*time.Second, func() { r.Send(state.Dismiss(e)) })
	case state.ShowTop:
		r.Device.Top()
	}
}

// speaks returns a language that the page has the words of: the one asked for, if it has them or
// can get them.
func (r *Runner) speaks(lang string) string {
	if !words.Has(lang) {
		text, err := r.Device.Words(lang)
		if err != nil || words.Take(text) != nil {
			return words.Languages()[0].ID
		}
	}
	return lang
}

// speaksAll gets the words of every language, and reports whether any came.
func (r *Runner) speaksAll() (came bool) {
	for _, l := range words.Languages() {
		came = !words.Has(l.ID) && r.speaks(l.ID) == l.ID || came
	}
	return came
}

// keepSetting keeps a setting, and puts it into force where the page's root element shows it.
func (r *Runner) keepSetting(e state.KeepSetting) {
	_ = r.Storage.Keep(e.Key, e.Value)
	if e.Key != "lang" && e.Key != "theme" {
		return
	}
	lang, _ := r.Storage.Kept("lang")
	if lang == "" {
		lang = words.Best(r.Device.Wishes()...)
	}
	theme, _ := r.Storage.Kept("theme")
	if theme == "" {
		theme = string(state.ThemeAuto)
	}
	r.Device.Wear(theme, r.speaks(lang))
}

// troubleOf names the trouble that an error of the storage means.
func troubleOf(err error) state.Trouble {
	for _, t := range []struct {
		err     error
		trouble state.Trouble
	}{
		{nil, state.NoTrouble},
		{browser.ErrFull, state.TroubleFull},
		{browser.ErrBlocked, state.TroubleOld},
		{browser.ErrNewer, state.TroubleNewer},
		{browser.ErrClash, state.TroubleClash},
		{browser.ErrDenied, state.TroubleDenied},
		{browser.ErrSilent, state.TroubleSilent},
		{browser.ErrGone, state.TroubleGone},
		{browser.ErrLost, state.TroubleLost},
		{browser.ErrRecord, state.TroubleRead},
	} {
		if errors.Is(err, t.err) {
			return t.trouble
		}
	}
	return state.TroubleOther
}

// stamp is how a time stands in a trail.
func (r *Runner) stamp() string { return r.Device.Now().UTC().Format(time.RFC3339) }

// newID makes the id of a unit or a photograph. Without random bytes there is still the
// time, on this device alone.
func (r *Runner) newID() string {
	var random [10]byte
	if err := r.Device.Random(random[:]); err != nil {
		random = [10]byte{}
	}
	return state.NewID(r.Device.Now(), random)
}

// loadModel loads a model for the intake.
func (r *Runner) loadModel(id string) {
	m, err := r.chosen(id)
	if err != nil {
		r.Send(state.ModelFailed{ID: id, Detail: err.Error()})
		return
	}
	r.Send(state.ModelLoaded{ID: id, Model: m})
}

func (r *Runner) shipped(id string) (*model.Model, error) {
	r.mu.Lock()
	m, ok := r.models.get(id)
	r.mu.Unlock()
	if ok {
		return m, nil
	}
	m, err := catalog.Load(id)
	if err != nil {
		return nil, err
	}
	r.cache(m)
	r.mu.Lock()
	r.models.put(id, m, modelsHeld)
	r.mu.Unlock()
	return m, nil
}

func (r *Runner) cached(sha256 string) *model.Model {
	r.mu.Lock()
	defer r.mu.Unlock()
	m, _ := r.models.get(sha256)
	return m
}

func (r *Runner) cache(m *model.Model) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.models.put(m.SHA256, m, modelsHeld)
}

// modelOf returns the model that a trail was recorded under: the very text, from
// the storage or from what is shipped.
func (r *Runner) modelOf(ref trail.ModelRef) (*model.Model, error) {
	if m := r.cached(ref.SHA256); m != nil {
		return m, nil
	}
	if m, err := r.shipped(ref.ID); err == nil && m.SHA256 == ref.SHA256 {
		return m, nil
	}
	text, err := r.Storage.Model(ref.SHA256)
	if err != nil {
		return nil, err
	}
	m, err := model.Load(text)
	if err != nil {
		return nil, err
	}
	if m.SHA256 != ref.SHA256 {
		return nil, fmt.Errorf("%w: model %s has the checksum %s", browser.ErrRecord, ref.SHA256, m.SHA256)
	}
	r.cache(m)
	return m, nil
}

// create stores a new unit.
func (r *Runner) create(e state.Create) {
	t := e.Trail
	t.ID, t.Created = r.newID(), r.stamp()
	for i := range t.Events {
		t.Events[i].At = r.stamp()
	}
	err := r.store(&t, e.Model)
	r.placePhotos(t.ID, err == nil)
	if err != nil {
		r.Send(state.CreateFailed{Trouble: troubleOf(err), Detail: err.Error(), Trail: &t, Model: e.Model})
		return
	}
	r.Send(state.Created{Trail: &t})
}

func (r *Runner) store(t *trail.Trail, m *model.Model) error {
	return r.storeAs(t, m, browser.OfEvents(t.ID, t.Events))
}

// storeAs stores a new unit with these records of its events. m may be nil.
func (r *Runner) storeAs(t *trail.Trail, m *model.Model, events []browser.EventRecord) error {
	return r.Storage.Create(browser.OfUnit(t), modelRecord(m), events, r.cardOf(t, m))
}

// modelRecord is the record of a model, the zero ModelRecord of none.
func modelRecord(m *model.Model) browser.ModelRecord {
	if m == nil {
		return browser.ModelRecord{}
	}
	return browser.OfModel(m)
}

// cardOf sums up a trail that is about to be stored. m, which may speak another language or
// be nil, is used if its model is neither shipped nor stored.
func (r *Runner) cardOf(t *trail.Trail, m *model.Model) browser.CardRecord {
	if own, err := r.modelOf(t.Model); err == nil {
		m = own
	}
	return recordOf(m, t, false)
}

// open reads a unit.
func (r *Runner) open(id string) {
	u, events, err := r.Storage.Unit(id)
	var t *trail.Trail
	var aside []string
	if err == nil {
		t, aside, err = browser.Assemble(u, events)
	}
	if err != nil {
		r.Send(state.OpenFailed{ID: id, Trouble: troubleOf(err), Detail: err.Error()})
		return
	}
	m, err := r.modelOf(t.Model)
	if err != nil {
		m = nil // the trail is shown all the same, without odds
	}
	if before, err := r.Storage.Aside(id); err == nil {
		aside = append(before, aside...)
	}
	r.marks.settle()
	msg := state.Opened{Trail: t, Model: m, Damaged: aside, Archived: u.Archived}
	if text, err := r.Storage.Kept(browser.MarksKey(id)); err == nil && text != "" {
		// Marks that do not read are as good as none.
		_ = json.Unmarshal([]byte(text), &msg.Marks)
	}
	r.Send(msg)
}

func (r *Runner) read(id string) (*trail.Trail, []string, error) {
	u, events, err := r.Storage.Unit(id)
	if err != nil {
		return nil, nil, err
	}
	return browser.Assemble(u, events)
}

// append stores events at the end of a unit. Only when the storage has committed
// them does the page hear of it.
func (r *Runner) append(e state.Append) {
	events := append([]trail.Event(nil), e.Events...)
	for i := range events {
		if events[i].At == "" {
			events[i].At = r.stamp()
		}
	}
	if err := r.put(e, events, browser.OfEvents(e.ID, events)); err != nil {
		r.Send(state.AppendFailed{ID: e.ID, Events: events, Trouble: troubleOf(err), Detail: err.Error()})
		return
	}
	r.Send(state.Appended{ID: e.ID, Events: events})
}
