//go:build js

package browser

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"
	"syscall/js"
	"time"

	"pitwise/engine/document"
)

// IndexedDB is the Storage of a browser.
type IndexedDB struct {
	mu      sync.Mutex // guards what follows
	db      js.Value   // the connection; undefined before the first
	over    error      // why it is closed, nil if it is open
	opening *opening   // under way, nil if none is
	channel js.Value
	watcher []func(Change)
}

// An opening is one attempt to get a connection, for all who wait for one.
type opening struct {
	done chan struct{}
	err  error
}

// NewIndexedDB returns the storage of this browser; Open makes it ready.
func NewIndexedDB() *IndexedDB { return &IndexedDB{} }

// heard listens for events of a target. Their names come in the order of the events; stop
// ends it.
func heard(target js.Value, events ...string) (came <-chan string, stop func()) {
	names := make(chan string, 8)
	funcs := make([]js.Func, len(events))
	for i, name := range events {
		funcs[i] = js.FuncOf(func(js.Value, []js.Value) any {
			select {
			case names <- name:
			default:
			}
			return nil
		})
		target.Call("addEventListener", name, funcs[i])
	}
	return names, func() {
		for i, f := range funcs {
			target.Call("removeEventListener", events[i], f)
			f.Release()
		}
	}
}

// settled waits for an event of a request or a transaction and returns the name
// of the one that came. The listeners are gone afterwards.
func settled(target js.Value, events ...string) string {
	came, stop := heard(target, events...)
	defer stop()
	return <-came
}

// failure turns a DOMException into an error of this package.
func failure(e js.Value) error {
	if !e.Truthy() {
		return errors.New("browser: storage failed without a reason")
	}
	name, text := e.Get("name").String(), e.Get("message").String()
	kind := map[string]error{
		"QuotaExceededError": ErrFull,
		"ConstraintError":    ErrClash,
		"VersionError":       ErrNewer,
		"SecurityError":      ErrDenied,
		"InvalidStateError":  errClosed,
		"UnknownError":       ErrDenied,
		"AbortError":         errUndone,
	}[name]
	if kind == nil {
		return fmt.Errorf("browser: %s: %s", name, text)
	}
	return fmt.Errorf("%w: %s: %s", kind, name, text)
}

// caught runs f and turns a JavaScript exception into an error.
func caught(f func()) (err error) {
	defer func() {
		if r := recover(); r != nil {
			if e, ok := r.(js.Error); ok {
				err = failure(e.Value)
				return
			}
			err = fmt.Errorf("browser: %v", r)
		}
	}()
	f()
	return nil
}

// result waits for a request.
func result(request js.Value) (js.Value, error) {
	if settled(request, "success", "error") == "error" {
		return js.Undefined(), failure(request.Get("error"))
	}
	return request.Get("result"), nil
}

// errUndone says that a transaction was undone before its request was answered.
var errUndone = errors.New("browser: transaction undone")

// errClosed says that a connection is closed or closing.
var errClosed = fmt.Errorf("%w: connection closed", ErrDenied)

// Open implements Storage. Whoever asks while an opening is under way waits for it.
func (d *IndexedDB) Open() error {
	d.mu.Lock()
	o := d.opening
	if o != nil {
		d.mu.Unlock()
		<-o.done
		return o.err
	}
	if d.db.Truthy() && d.over == nil {
		d.mu.Unlock()
		return nil
	}
	o = &opening{done: make(chan struct{})}
	d.opening = o
	d.mu.Unlock()
	db, err := d.connect()
	d.mu.Lock()
	switch {
	case err == nil:
		d.db, d.over = db, nil
	case errors.Is(err, ErrSilent):
		d.over = ErrSilent // whoever comes next does not wait as long once more
	}
	o.err, d.opening = err, nil
	d.mu.Unlock()
	close(o.done)
	return err
}

// connect returns a connection to a database that has every table of the schema.
func (d *IndexedDB) connect() (js.Value, error) {
	// A browser that denies storage may throw where the property is read; only a call
	// turns that into something to catch.
	var factory js.Value
	if err := caught(func() { factory = js.Global().Get("Reflect").Call("get", js.Global(), "indexedDB") }); err != nil {
		return factory, fmt.Errorf("%w: %w", ErrDenied, err)
	}
	if !factory.Truthy() {
		return factory, ErrDenied
	}
	schema := SchemaVersion()
	db, err := d.request(factory, DatabaseName, databaseVersion(schema))
	if errors.Is(err, ErrNewer) {
		// A mended one of this schema is a few versions up.
		newer := err
		if db, err = d.request(factory, DatabaseName); err == nil && schemaOf(db.Get("version").Int()) > schema {
			db.Call("close")
			return db, newer
		}
	}
	if err == nil && !complete(db, schema) {
		// An upgrade was cut off from what makes the tables. The next version makes them.
		version := db.Get("version").Int() + 1
		db.Call("close")
		if db, err = d.request(factory, DatabaseName, version); err == nil && !complete(db, schema) {
			db.Call("close")
			err = fmt.Errorf("%w: tables are missing", ErrDenied)
		}
	}
	if err != nil {
		return db, err
	}
	d.listen(db)
	return db, nil
}

// silence is how long a browser may leave it open whether there is a database: some never
// say (Chromium, when it clears an origin that is in use). Common practice, no source.
const silence = 10 * time.Second

// request opens the database: with a version, or as it is. What is missing in it is made
// on the way. Its listeners stay until the request is over: one that is blocked goes on
// once the other windows are closed, and must then still make the tables. Nobody waits for
// that connection any more, so it is closed.
func (d *IndexedDB) request(factory js.Value, of ...any) (db js.Value, err error) {
	var open js.Value
	if err := caught(func() { open = factory.Call("open", of...) }); err != nil {
		return db, fmt.Errorf("%w: %w", ErrDenied, err)
	}
	upgrade := js.FuncOf(func(js.Value, []js.Value) any {
		tx := open.Get("transaction")
		if err := caught(func() { upgraded(open.Get("result"), tx) }); err != nil {
			_ = caught(func() { tx.Call("abort") }) // as it was, rather than half
		}
		return nil
	})
	open.Set("onupgradeneeded", upgrade)
	came, stop := heard(open, "success", "error", "blocked", "upgradeneeded")
	over := func() {
		open.Set("onupgradeneeded", nil)
		stop()
		upgrade.Release()
	}
	how := "silent"
	select {
	case how = <-came:
	case <-time.After(silence):
	}
	switch how {
	case "blocked", "silent":
		go func() {
			if last(came) == "success" {
				open.Get("result").Call("close")
				d.answers()
			}
			over()
		}()
		if how == "silent" {
			return db, ErrSilent
		}
		return db, ErrBlocked
	case "upgradeneeded":
		how = last(came) // bringing the data forward takes as long as it takes
	}
	over()
	if how == "error" {
		return db, failure(open.Get("error"))
	}
	return open.Get("result"), nil
}

// last is how a request ends.
func last(came <-chan string) string {
	for {
		if how := <-came; how == "success" || how == "error" {
			return how
		}
	}
}

// answers notes that a browser that was silent answers after all: what comes next opens the
// database anew.
func (d *IndexedDB) answers() {
	d.mu.Lock()
	defer d.mu.Unlock()
	if errors.Is(d.over, ErrSilent) {
		d.over = ErrLost
	}
}

// upgraded makes the tables and indexes of the present schema that the database lacks, in
// the transaction of an upgrade.
func upgraded(db, tx js.Value) {
	keyPath := func(path []string) any {
		if len(path) == 1 {
			return path[0]
		}
		list := js.Global().Get("Array").New()
		for _, k := range path {
			list.Call("push", k)
		}
		return list
	}
	for _, t := range tables(SchemaVersion()) {
		var store js.Value
		if db.Get("objectStoreNames").Call("contains", t.name).Bool() {
			store = tx.Call("objectStore", t.name)
		} else {
			store = db.Call("createObjectStore", t.name, map[string]any{"keyPath": keyPath(t.key)})
		}
		for _, i := range t.indexes {
			if !store.Get("indexNames").Call("contains", i.name).Bool() {
				store.Call("createIndex", i.name, keyPath(i.path))
			}
		}
	}
}

// complete reports whether the database has every table of a schema.
func complete(db js.Value, schema int) bool {
	for _, t := range tables(schema) {
		if !db.Get("objectStoreNames").Call("contains", t.name).Bool() {
			return false
		}
	}
	return true
}

// listen follows what happens to a connection and, once, what other windows tell.
func (d *IndexedDB) listen(db js.Value) {
	// A newer version in another window wants to bring the data forward, or they are to be
	// deleted: make way at once, in the event itself.
	deleted := false
	makeWay := js.FuncOf(func(_ js.Value, args []js.Value) any {
		deleted = args[0].Get("newVersion").IsNull()
		db.Call("close")
		return nil
	})
	db.Call("addEventListener", "versionchange", makeWay)
	came, stop := heard(db, "versionchange", "close") // after it in the same event
	go func() {
		how := <-came
		stop()
		db.Call("removeEventListener", "versionchange", makeWay)
		makeWay.Release()
		why, change := ErrLost, Change{Kind: Cleared}
		if how == "versionchange" && !deleted {
			why, change = ErrBlocked, Change{Kind: Outdated}
		}
		if d.end(db, why) {
			d.tell(change)
		}
	}()
	d.mu.Lock()
	defer d.mu.Unlock()
	if c := js.Global().Get("BroadcastChannel"); c.Truthy() && !d.channel.Truthy() {
		d.channel = c.New(DatabaseName)
		d.channel.Call("addEventListener", "message", js.FuncOf(func(_ js.Value, args []js.Value) any {
			if data := args[0].Get("data"); data.Type() == js.TypeString {
				d.tell(changeTold(data.String()))
			}
			return nil
		}))
	}
}

// Close closes the connection and what listens to other windows. The storage can be opened
// again.
func (d *IndexedDB) Close() {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.db.Truthy() && d.over == nil {
		d.db.Call("close")
	}
	if d.channel.Truthy() {
		d.channel.Call("close")
	}
	d.db, d.over, d.channel = js.Undefined(), nil, js.Undefined()
}

// end notes that a connection is closed, and reports whether it was the present one.
func (d *IndexedDB) end(db js.Value, why error) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	if !d.db.Equal(db) || d.over != nil {
		return false
	}
	d.over = why
	return true
}

func (d *IndexedDB) tell(c Change) {
	d.mu.Lock()
	watchers := d.watcher
	d.mu.Unlock()
	for _, f := range watchers {
		go f(c)
	}
}

// announce tells the other windows of a change.
func (d *IndexedDB) announce(c Change) {
	d.mu.Lock()
	channel := d.channel
	d.mu.Unlock()
	if channel.Truthy() {
		channel.Call("postMessage", c.told())
	}
}

// Watch implements Storage.
func (d *IndexedDB) Watch(f func(Change)) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.watcher = append(d.watcher, f)
}

// ready returns the connection. One that was lost with the data is opened again: what
// is on the screen can then be stored anew.
func (d *IndexedDB) ready() (js.Value, error) {
	d.mu.Lock()
	db, over := d.db, d.over
	d.mu.Unlock()
	switch {
	case !db.Truthy():
		return db, ErrDenied
	case errors.Is(over, ErrLost):
		if err := d.Open(); err != nil {
			return db, err
		}
		d.mu.Lock()
		defer d.mu.Unlock()
		return d.db, d.over
	}
	return db, over
}

// begin begins a transaction. A browser may have closed the connection and not said so
// yet (a phone does while the page is in the background): then it is opened again, once.
func (d *IndexedDB) begin(of ...any) (tx js.Value, err error) {
	for range 2 {
		db, err := d.ready()
		if err != nil {
			return tx, err
		}
		err = caught(func() { tx = db.Call("transaction", of...) })
		if err == nil {
			return tx, nil
		}
		if !errors.Is(err, errClosed) {
			return tx, err
		}
		d.end(db, ErrLost)
	}
	return tx, errClosed
}

// read runs f in a transaction that only reads.
func (d *IndexedDB) read(tables []any, f func(tx js.Value) error) error {
	tx, err := d.begin(tables, "readonly")
	if err != nil {
		return err
	}
	var inner error
	if err := caught(func() { inner = f(tx) }); err != nil {
		return err
	}
	return inner
}

// write runs f in a transaction and returns when it is committed to the disk, or
// undone. If f returns an error, nothing of the transaction is kept.
func (d *IndexedDB) write(tables []any, f func(tx js.Value) error) error {
	tx, err := d.begin(tables, "readwrite", map[string]any{"durability": "strict"})
	if err != nil {
		return err
	}
	came, stop := heard(tx, "complete", "abort")
	defer stop()
	var inner error
	if err := caught(func() { inner = f(tx) }); err != nil {
		inner = err
	}
	if inner != nil {
		// The transaction may have ended by itself; then there is nothing to undo.
		_ = caught(func() { tx.Call("abort") })
	}
	how := <-came
	switch reason := tx.Get("error"); {
	case errors.Is(inner, errUndone) && reason.Truthy():
		return failure(reason) // it was undone under a request: for this
	case inner != nil:
		return inner
	case how != "complete":
		return failure(reason)
	}
	return nil
}

func textOf(v js.Value, key string) string {
	if f := v.Get(key); f.Type() == js.TypeString {
		return f.String()
	}
	return ""
}

func unitOf(v js.Value) UnitRecord {
	return UnitRecord{
		ID: textOf(v, "id"), Head: textOf(v, "head"), Sum: textOf(v, "sum"), Archived: v.Get("archived").Truthy(),
	}
}

func unitTo(u UnitRecord) map[string]any {
	return map[string]any{"id": u.ID, "head": u.Head, "sum": u.Sum, "archived": u.Archived}
}

func eventOf(v js.Value) EventRecord {
	e := EventRecord{Unit: textOf(v, "unit"), JSON: textOf(v, "json"), Sum: textOf(v, "sum")}
	if n := v.Get("n"); n.Type() == js.TypeNumber {
		e.N = n.Int()
	}
	return e
}

// ofUnit is the key range of one unit's events.
func ofUnit(id string) js.Value {
	return js.Global().Get("IDBKeyRange").Call("bound", []any{id, 0}, []any{id, math.Inf(1)})
}

// Units implements Storage.
func (d *IndexedDB) Units() (units []UnitRecord, err error) {
	err = d.read([]any{"units"}, func(tx js.Value) error {
		all, err := result(tx.Call("objectStore", "units").Call("getAll"))
		if err != nil {
			return err
		}
		for i := range all.Length() {
			units = append(units, unitOf(all.Index(i)))
		}
		return nil
	})
	return units, err
}

// Unit implements Storage.
func (d *IndexedDB) Unit(id string) (u UnitRecord, events []EventRecord, err error) {
	err = d.read([]any{"units", "events"}, func(tx js.Value) error {
		head, err := result(tx.Call("objectStore", "units").Call("get", id))
		if err != nil {
			return err
		}
		if !head.Truthy() {
			return fmt.Errorf("%w: unit %s", ErrGone, id)
		}
		u = unitOf(head)
		all, err := result(tx.Call("objectStore", "events").Call("getAll", ofUnit(id)))
		if err != nil {
			return err
		}
		for i := range all.Length() {
			events = append(events, eventOf(all.Index(i)))
		}
		return nil
	})
	return u, events, err
}

// Create implements Storage.
func (d *IndexedDB) Create(u UnitRecord, m ModelRecord, events []EventRecord, card CardRecord) error {
	return d.Add([]Addition{{Unit: u, Model: m, Events: events, Card: card, New: true}}, nil, nil)
}

// Append implements Storage.
func (d *IndexedDB) Append(unit string, events []EventRecord, card CardRecord) error {
	if len(events) == 0 {
		return nil
	}
	return d.Add([]Addition{{Unit: UnitRecord{ID: unit}, Events: events, Card: card}}, nil, nil)
}

// Add implements Storage.
func (d *IndexedDB) Add(all []Addition, photos []PhotoRecord, goOn func(done int) bool) error {
	names := []any{"units", "events", "models", "cards"}
	if len(photos) > 0 {
		names = append(names, "photos")
	}
	err := d.write(names, func(tx js.Value) error {
		in := adding{tx: tx, next: map[string]int{}}
		for first := 0; first < len(all); first += addedAtOnce {
			some := all[first:min(first+addedAtOnce, len(all))]
			if err := in.look(some); err != nil {
				return err
			}
			for i, a := range some {
				if err := in.add(a); err != nil {
					return err
				}
				if goOn != nil && !goOn(first+i+1) {
					return ErrStopped
				}
			}
		}
		for i, p := range photos {
			if err := addPhotoTo(tx, p); err != nil {
				return err
			}
			if goOn != nil && !goOn(len(all)+i+1) {
				return ErrStopped
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, a := range all {
		d.announce(Change{Unit: a.Unit.ID})
	}
	for _, unit := range unitsOf(photos) {
		d.announce(Change{Kind: PhotosChanged, Unit: unit})
	}
	return nil
}

// addedAtOnce is how many units are added before the page has its turn. Each answer of the
// database is a turn, and takes longer than adding a unit does.
const addedAtOnce = 20

// An adding is what is known of units in a transaction that adds to them.
type adding struct {
	tx       js.Value
	next     map[string]int  // the number of the next event; 0 of a unit that is not there
	archived map[string]bool // put away
}

// look reads what has to be known of the units of some additions.
func (in *adding) look(some []Addition) error {
	units, events := in.tx.Call("objectStore", "units"), in.tx.Call("objectStore", "events")
	heads, lasts := make([]js.Value, len(some)), make([]js.Value, len(some))
	var last js.Value
	for i, a := range some {
		heads[i] = units.Call("get", a.Unit.ID)
		last = heads[i]
		if !a.New {
			lasts[i] = events.Call("openKeyCursor", ofUnit(a.Unit.ID), "prev")
			last = lasts[i]
		}
	}
	// Requests of a transaction are answered in order.
	if _, err := result(last); err != nil {
		return err
	}
	in.archived = map[string]bool{}
	for i, a := range some {
		id, head := a.Unit.ID, heads[i].Get("result")
		in.archived[id] = head.Truthy() && unitOf(head).Archived
		if _, known := in.next[id]; known {
			continue // by what was added before
		}
		switch {
		case !head.Truthy():
			in.next[id] = 0
		case a.New:
			in.next[id] = 1 // it is there, which is all that matters
		default:
			in.next[id] = 1
			if cursor := lasts[i].Get("result"); cursor.Truthy() {
				in.next[id] = cursor.Get("key").Index(1).Int() + 1
			}
		}
	}
	return nil
}

// add adds to a unit that was looked at.
func (in *adding) add(a Addition) error {
	id := a.Unit.ID
	switch next := in.next[id]; {
	case a.New && next > 0:
		return fmt.Errorf("%w: %s", ErrExists, id)
	case a.New:
		in.tx.Call("objectStore", "units").Call("add", unitTo(a.Unit))
		in.next[id], in.archived[id] = 1, a.Unit.Archived
	case next == 0:
		return fmt.Errorf("%w: unit %s", ErrGone, id)
	case len(a.Events) > 0 && a.Events[0].N != next:
		return fmt.Errorf("%w: next event is %d, not %d", ErrClash, next, a.Events[0].N)
	}
	if a.Model.SHA256 != "" {
		in.tx.Call("objectStore", "models").Call("put", map[string]any{"sha256": a.Model.SHA256, "text": a.Model.Text})
	}
	if err := addEvents(in.tx.Call("objectStore", "events"), a.Events); err != nil {
		return err
	}
	if n := len(a.Events); n > 0 {
		in.next[id] = a.Events[n-1].N + 1
	}
	if a.Card.ID != "" {
		a.Card.Away = in.archived[id]
		in.tx.Call("objectStore", "cards").Call("put", cardTo(a.Card))
	}
	return nil
}

// addEvents adds records. They go over to the browser as one text: a call for each of their
// fields takes longer than adding them.
func addEvents(store js.Value, events []EventRecord) error {
	if len(events) == 0 {
		return nil
	}
	w := document.Writer{Tight: true}
	w.List(false)
	for _, e := range events {
		e.write(&w)
	}
	w.End()
	list := js.Global().Get("JSON").Call("parse", string(w.Bytes()))
	for i := range events {
		store.Call("add", list.Index(i))
	}
	return nil
}

// SetAside implements Storage.
func (d *IndexedDB) SetAside(unit string, events []EventRecord) error {
	return d.write([]any{"events", "kept"}, func(tx js.Value) error {
		store, kept := tx.Call("objectStore", "events"), tx.Call("objectStore", "kept")
		for _, e := range events {
			// The key is what the record lies under, whatever it says itself.
			there, err := result(store.Call("get", []any{unit, e.N}))
			if err != nil {
				return err
			}
			if !there.Truthy() || eventOf(there) != e {
				return fmt.Errorf("%w: event %d is another", ErrClash, e.N)
			}
			kept.Call("put", map[string]any{"key": e.asideKey(unit), "value": e.Raw()})
			store.Call("delete", []any{unit, e.N})
		}
		return nil
	})
}

// Aside implements Storage.
func (d *IndexedDB) Aside(unit string) (raw []string, err error) {
	err = d.read([]any{"kept"}, func(tx js.Value) error {
		head := asideKey + unit + "/"
		all, err := result(tx.Call("objectStore", "kept").Call("getAll", headed(head)))
		if err != nil {
			return err
		}
		for i := range all.Length() {
			raw = append(raw, textOf(all.Index(i), "value"))
		}
		return nil
	})
	return raw, err
}

// Model implements Storage.
func (d *IndexedDB) Model(sha256 string) (text []byte, err error) {
	err = d.read([]any{"models"}, func(tx js.Value) error {
		m, err := result(tx.Call("objectStore", "models").Call("get", sha256))
		if err != nil {
			return err
		}
		if !m.Truthy() {
			return fmt.Errorf("%w: model %s", ErrGone, sha256)
		}
		text = []byte(textOf(m, "text"))
		return nil
	})
	return text, err
}

// KeepModel implements Storage.
func (d *IndexedDB) KeepModel(m ModelRecord, note string) error {
	return d.write([]any{"models", "kept"}, func(tx js.Value) error {
		tx.Call("objectStore", "models").Call("put", map[string]any{"sha256": m.SHA256, "text": m.Text})
		tx.Call("objectStore", "kept").Call("put", map[string]any{"key": listedKey + m.SHA256, "value": note})
		return nil
	})
}

// Models implements Storage.
func (d *IndexedDB) Models() (notes map[string]string, err error) {
	err = d.read([]any{"kept"}, func(tx js.Value) error {
		all, err := result(tx.Call("objectStore", "kept").Call("getAll", headed(listedKey)))
		if err != nil {
			return err
		}
		notes = map[string]string{}
		for i := range all.Length() {
			notes[strings.TrimPrefix(textOf(all.Index(i), "key"), listedKey)] = textOf(all.Index(i), "value")
		}
		return nil
	})
	return notes, err
}

// DropModel implements Storage.
func (d *IndexedDB) DropModel(sha256 string) error {
	return d.write([]any{"units", "models", "kept"}, func(tx js.Value) error {
		tx.Call("objectStore", "kept").Call("delete", listedKey+sha256)
		return dropUnused(tx, sha256)
	})
}

// Archive implements Storage.
func (d *IndexedDB) Archive(unit string, on bool) error {
	err := d.write([]any{"units", "cards"}, func(tx js.Value) error {
		store, cards := tx.Call("objectStore", "units"), tx.Call("objectStore", "cards")
		v, err := result(store.Call("get", unit))
		if err != nil {
			return err
		}
		if !v.Truthy() {
			return fmt.Errorf("%w: unit %s", ErrGone, unit)
		}
		u := unitOf(v)
		u.Archived = on
		store.Call("put", unitTo(u))
		v, err = result(cards.Call("get", unit))
		if err != nil || !v.Truthy() {
			return err
		}
		c := cardOf(v)
		c.Away = on
		cards.Call("put", cardTo(c))
		return nil
	})
	if err == nil {
		d.announce(Change{Unit: unit})
	}
	return err
}

// Delete implements Storage.
func (d *IndexedDB) Delete(unit string) error {
	err := d.write([]any{"units", "events", "models", "cards", "kept", "photos"}, func(tx js.Value) error {
		units, kept := tx.Call("objectStore", "units"), tx.Call("objectStore", "kept")
		head, err := result(units.Call("get", unit))
		if err != nil {
			return err
		}
		units.Call("delete", unit)
		tx.Call("objectStore", "events").Call("delete", ofUnit(unit))
		tx.Call("objectStore", "cards").Call("delete", unit)
		tx.Call("objectStore", "photos").Call("delete", photosOf(unit))
		kept.Call("delete", marksKey+unit)
		kept.Call("delete", headed(asideKey+unit+"/"))
		if !head.Truthy() {
			return nil
		}
		return dropUnused(tx, unitOf(head).Model())
	})
	if err == nil {
		d.announce(Change{Unit: unit})
		d.announce(Change{Kind: PhotosChanged, Unit: unit})
	}
	return err
}

// dropUnused removes a model that is not listed and under which no unit was recorded.
func dropUnused(tx js.Value, sha256 string) error {
	listed, err := result(tx.Call("objectStore", "kept").Call("count", listedKey+sha256))
	if err != nil || sha256 == "" || listed.Int() > 0 {
		return err
	}
	all, err := result(tx.Call("objectStore", "units").Call("getAll"))
	if err != nil {
		return err
	}
	for i := range all.Length() {
		if unitOf(all.Index(i)).Under(sha256) {
			return nil
		}
	}
	tx.Call("objectStore", "models").Call("delete", sha256)
	return nil
}

// headed is the range of the keys that begin with a head.
func headed(head string) js.Value {
	return js.Global().Get("IDBKeyRange").Call("bound", head, head+"\uffff")
}

func cardTo(c CardRecord) map[string]any {
	away := 0
	if c.Away {
		away = 1
	}
	return map[string]any{
		"id": c.ID, "version": c.Version, "away": away, "order": -float64(c.At), "events": c.Events, "text": c.Text,
	}
}

func cardOf(v js.Value) CardRecord {
	number := func(key string) float64 {
		if n := v.Get(key); n.Type() == js.TypeNumber {
			return n.Float()
		}
		return 0
	}
	return CardRecord{
		ID: textOf(v, "id"), Version: int(number("version")), Away: number("away") != 0,
		At: -int64(number("order")), Events: int(number("events")), Text: textOf(v, "text"),
	}
}

// listedIn is the range of the index "listed" with the cards of a version that are put
// away, or are not, from after one of them.
func listedIn(version int, away bool, after CardRecord) js.Value {
	n := 0
	if away {
		n = 1
	}
	from, open := []any{version, n}, false
	if after.ID != "" {
		from, open = []any{version, n, -float64(after.At), after.ID}, true
	}
	return js.Global().Get("IDBKeyRange").Call("bound", from, []any{version, n, []any{}}, open, false)
}

// Cards implements Storage.
func (d *IndexedDB) Cards(q CardQuery) (cards []CardRecord, count CardCount, err error) {
	err = d.read([]any{"units", "cards"}, func(tx js.Value) error {
		listed := tx.Call("objectStore", "cards").Call("index", "listed")
		units := tx.Call("objectStore", "units").Call("count")
		here := listed.Call("count", listedIn(q.Version, false, CardRecord{}))
		away := listed.Call("count", listedIn(q.Version, true, CardRecord{}))
		asked := []any{listedIn(q.Version, q.Away, q.After)}
		if q.Most > 0 {
			asked = append(asked, q.Most)
		}
		page, err := result(listed.Call("getAll", asked...))
		if err != nil {
			return err
		}
		// Requests of a transaction are answered in order.
		count = CardCount{Units: units.Get("result").Int(), Here: here.Get("result").Int(), Away: away.Get("result").Int()}
		for i := range page.Length() {
			cards = append(cards, cardOf(page.Index(i)))
		}
		return nil
	})
	return cards, count, err
}

// Card implements Storage.
func (d *IndexedDB) Card(id string) (c CardRecord, err error) {
	err = d.read([]any{"cards"}, func(tx js.Value) error {
		v, err := result(tx.Call("objectStore", "cards").Call("get", id))
		if err != nil {
			return err
		}
		if !v.Truthy() {
			return fmt.Errorf("%w: card of %s", ErrGone, id)
		}
		c = cardOf(v)
		return nil
	})
	return c, err
}

// KeepCards implements Storage.
func (d *IndexedDB) KeepCards(cards []CardRecord) error {
	return d.write([]any{"units", "cards"}, func(tx js.Value) error {
		units, store := tx.Call("objectStore", "units"), tx.Call("objectStore", "cards")
		for _, c := range cards {
			head, err := result(units.Call("get", c.ID))
			if err != nil {
				return err
			}
			there, err := result(store.Call("get", c.ID))
			if err != nil {
				return err
			}
			if !head.Truthy() || there.Truthy() && cardOf(there).newer(c) {
				continue
			}
			c.Away = unitOf(head).Archived
			store.Call("put", cardTo(c))
		}
		return nil
	})
}

// Uncarded implements Storage.
func (d *IndexedDB) Uncarded(version int) (ids []string, err error) {
	err = d.read([]any{"units", "cards"}, func(tx js.Value) error {
		listed := tx.Call("objectStore", "cards").Call("index", "listed")
		here := listed.Call("getAllKeys", listedIn(version, false, CardRecord{}))
		away := listed.Call("getAllKeys", listedIn(version, true, CardRecord{}))
		all, err := result(tx.Call("objectStore", "units").Call("getAllKeys"))
		if err != nil {
			return err
		}
		has := map[string]bool{}
		for _, keys := range []js.Value{here.Get("result"), away.Get("result")} {
			for i := range keys.Length() {
				has[keys.Index(i).String()] = true
			}
		}
		for i := range all.Length() {
			if id := all.Index(i).String(); !has[id] {
				ids = append(ids, id)
			}
		}
		return nil
	})
	return ids, err
}

// Keep implements Storage.
func (d *IndexedDB) Keep(key, value string) error {
	return d.write([]any{"kept"}, func(tx js.Value) error {
		keep(tx, key, value)
		return nil
	})
}

func keep(tx js.Value, key, value string) {
	kept := tx.Call("objectStore", "kept")
	if value == "" {
		kept.Call("delete", key)
		return
	}
	kept.Call("put", map[string]any{"key": key, "value": value})
}

// Kept implements Storage.
func (d *IndexedDB) Kept(key string) (value string, err error) {
	err = d.read([]any{"kept"}, func(tx js.Value) error {
		value, err = kept(tx, key)
		return err
	})
	return value, err
}

func kept(tx js.Value, key string) (string, error) {
	v, err := result(tx.Call("objectStore", "kept").Call("get", key))
	if err != nil || !v.Truthy() {
		return "", err
	}
	return textOf(v, "value"), nil
}

// Alter implements Storage.
func (d *IndexedDB) Alter(key string, f func(value string) (string, error)) error {
	return d.write([]any{"kept"}, func(tx js.Value) error {
		before, err := kept(tx, key)
		if err != nil {
			return err
		}
		value, err := f(before)
		if err == nil && value != before {
			keep(tx, key, value)
		}
		return err
	})
}
