//go:build js

package browser

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"
	"syscall/js"
)

// IndexedDB is the Storage of a browser.
type IndexedDB struct {
	db      js.Value
	channel js.Value
	over    error // why the connection is closed, nil if it is open
	mu      sync.Mutex
	watcher []func(Change)
}

// NewIndexedDB returns the storage of this browser; Open makes it ready.
func NewIndexedDB() *IndexedDB { return &IndexedDB{} }

// settled waits for an event of a request or a transaction and returns the name
// of the one that came. The listeners are gone afterwards.
func settled(target js.Value, events ...string) string {
	came := make(chan string, len(events))
	var funcs []js.Func
	for _, name := range events {
		f := js.FuncOf(func(js.Value, []js.Value) any {
			came <- name
			return nil
		})
		funcs = append(funcs, f)
		target.Call("addEventListener", name, f)
	}
	name := <-came
	for i, f := range funcs {
		target.Call("removeEventListener", events[i], f)
		f.Release()
	}
	return name
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
		"InvalidStateError":  ErrDenied,
		"UnknownError":       ErrDenied,
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

// Open implements Storage.
func (d *IndexedDB) Open() error {
	// A browser that denies storage may throw where the property is read; only a call
	// turns that into something to catch.
	var factory js.Value
	if err := caught(func() { factory = js.Global().Get("Reflect").Call("get", js.Global(), "indexedDB") }); err != nil {
		return fmt.Errorf("%w: %w", ErrDenied, err)
	}
	if !factory.Truthy() {
		return ErrDenied
	}
	var request js.Value
	if err := caught(func() { request = factory.Call("open", DatabaseName, SchemaVersion()) }); err != nil {
		return fmt.Errorf("%w: %w", ErrDenied, err)
	}
	upgrade := js.FuncOf(func(_ js.Value, args []js.Value) any {
		db := request.Get("result")
		for _, m := range migrations[args[0].Get("oldVersion").Int():] {
			for _, t := range m.tables {
				var key any = t.key[0]
				if len(t.key) > 1 {
					path := js.Global().Get("Array").New()
					for _, k := range t.key {
						path.Call("push", k)
					}
					key = path
				}
				db.Call("createObjectStore", t.name, map[string]any{"keyPath": key})
			}
		}
		return nil
	})
	defer upgrade.Release()
	request.Set("onupgradeneeded", upgrade)
	switch settled(request, "success", "error", "blocked") {
	case "blocked":
		return ErrBlocked
	case "error":
		return failure(request.Get("error"))
	}
	db := request.Get("result")
	d.mu.Lock()
	d.db, d.over = db, nil
	d.mu.Unlock()
	over := func(why error, change ChangeKind) {
		d.mu.Lock()
		d.over = why
		d.mu.Unlock()
		d.tell(Change{Kind: change})
	}
	// A newer version in another window wants to bring the data forward: make way,
	// and tell the person. Or the data are to be deleted: then there are none any more.
	// These listeners live as long as the page.
	db.Call("addEventListener", "versionchange", js.FuncOf(func(_ js.Value, args []js.Value) any {
		db.Call("close")
		if args[0].Get("newVersion").IsNull() {
			over(ErrLost, Cleared)
		} else {
			over(ErrBlocked, Outdated)
		}
		return nil
	}))
	db.Call("addEventListener", "close", js.FuncOf(func(js.Value, []js.Value) any {
		over(ErrLost, Cleared)
		return nil
	}))
	if c := js.Global().Get("BroadcastChannel"); c.Truthy() && !d.channel.Truthy() {
		d.channel = c.New(DatabaseName)
		d.channel.Call("addEventListener", "message", js.FuncOf(func(_ js.Value, args []js.Value) any {
			if data := args[0].Get("data"); data.Type() == js.TypeString {
				d.tell(changeTold(data.String()))
			}
			return nil
		}))
	}
	return nil
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
	if d.channel.Truthy() {
		d.channel.Call("postMessage", c.told())
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
		return d.db, nil
	}
	return db, over
}

// read runs f in a transaction that only reads.
func (d *IndexedDB) read(tables []any, f func(tx js.Value) error) error {
	db, err := d.ready()
	if err != nil {
		return err
	}
	var inner error
	if err := caught(func() { inner = f(db.Call("transaction", tables, "readonly")) }); err != nil {
		return err
	}
	return inner
}

// write runs f in a transaction and returns when it is committed to the disk, or
// undone. If f returns an error, nothing of the transaction is kept.
func (d *IndexedDB) write(tables []any, f func(tx js.Value) error) error {
	db, err := d.ready()
	if err != nil {
		return err
	}
	var tx js.Value
	err = caught(func() {
		tx = db.Call("transaction", tables, "readwrite", map[string]any{"durability": "strict"})
	})
	if err != nil {
		return err
	}
	done := make(chan string, 1)
	go func() { done <- settled(tx, "complete", "abort") }()
	var inner error
	if err := caught(func() { inner = f(tx) }); err != nil {
		inner = err
	}
	if inner != nil {
		// The transaction may have ended by itself; then there is nothing to undo.
		_ = caught(func() { tx.Call("abort") })
	}
	how := <-done
	if inner != nil {
		return inner
	}
	if how != "complete" {
		return failure(tx.Get("error"))
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

func eventTo(e EventRecord) map[string]any {
	return map[string]any{"unit": e.Unit, "n": e.N, "json": e.JSON, "sum": e.Sum}
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
func (d *IndexedDB) Create(u UnitRecord, m ModelRecord, events []EventRecord) error {
	err := d.write([]any{"units", "events", "models"}, func(tx js.Value) error {
		units := tx.Call("objectStore", "units")
		if m.SHA256 != "" {
			tx.Call("objectStore", "models").Call("put", map[string]any{"sha256": m.SHA256, "text": m.Text})
		}
		there, err := result(units.Call("get", u.ID))
		if err != nil {
			return err
		}
		if there.Truthy() {
			return fmt.Errorf("%w: %s", ErrExists, u.ID)
		}
		units.Call("add", unitTo(u))
		store := tx.Call("objectStore", "events")
		for _, e := range events {
			store.Call("add", eventTo(e))
		}
		return nil
	})
	if err == nil {
		d.announce(Change{Unit: u.ID})
	}
	return err
}

// Append implements Storage.
func (d *IndexedDB) Append(unit string, events []EventRecord) error {
	if len(events) == 0 {
		return nil
	}
	err := d.write([]any{"units", "events"}, func(tx js.Value) error {
		head, err := result(tx.Call("objectStore", "units").Call("count", unit))
		if err != nil {
			return err
		}
		if head.Int() == 0 {
			return fmt.Errorf("%w: unit %s", ErrGone, unit)
		}
		store := tx.Call("objectStore", "events")
		last, err := result(store.Call("openKeyCursor", ofUnit(unit), "prev"))
		if err != nil {
			return err
		}
		next := 1
		if last.Truthy() {
			next = last.Get("key").Index(1).Int() + 1
		}
		if events[0].N != next {
			return fmt.Errorf("%w: next event is %d, not %d", ErrClash, next, events[0].N)
		}
		for _, e := range events {
			store.Call("add", eventTo(e))
		}
		return nil
	})
	if err == nil {
		d.announce(Change{Unit: unit})
	}
	return err
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
		all, err := result(tx.Call("objectStore", "kept").Call("getAll", js.Global().Get("IDBKeyRange").Call("bound", head, head+"\uffff")))
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
		keys := js.Global().Get("IDBKeyRange").Call("bound", listedKey, listedKey+"\uffff")
		all, err := result(tx.Call("objectStore", "kept").Call("getAll", keys))
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
	})
}

// Archive implements Storage.
func (d *IndexedDB) Archive(unit string, on bool) error {
	err := d.write([]any{"units"}, func(tx js.Value) error {
		store := tx.Call("objectStore", "units")
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
		return nil
	})
	if err == nil {
		d.announce(Change{Unit: unit})
	}
	return err
}

// Keep implements Storage.
func (d *IndexedDB) Keep(key, value string) error {
	return d.write([]any{"kept"}, func(tx js.Value) error {
		tx.Call("objectStore", "kept").Call("put", map[string]any{"key": key, "value": value})
		return nil
	})
}

// Kept implements Storage.
func (d *IndexedDB) Kept(key string) (value string, err error) {
	err = d.read([]any{"kept"}, func(tx js.Value) error {
		v, err := result(tx.Call("objectStore", "kept").Call("get", key))
		if err == nil && v.Truthy() {
			value = textOf(v, "value")
		}
		return err
	})
	return value, err
}
