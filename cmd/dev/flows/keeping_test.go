//go:build browser

package flows_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/engine/trail"
)

// plain is a page of the origin without the program, for looking at the storage.
const plain = "/manifest.webmanifest"

// outside goes to the plain page, for which a browser looks for an icon.
func outside(p *browser.Page, s *browser.Server) {
	p.Allow("favicon.ico")
	p.Visit(s.URL(plain))
}

// tables reads whole tables of the database, as JSON.
func tables(p *browser.Page, names ...string) string {
	list, _ := json.Marshal(names)
	return browser.Value[string](p, `new Promise((done, failed) => {
		const open = indexedDB.open("pitwise");
		open.onerror = () => failed(open.error);
		open.onsuccess = () => {
			const db = open.result, tx = db.transaction(`+string(list)+`), out = {version: db.version};
			for (const name of `+string(list)+`) tx.objectStore(name).getAll().onsuccess = (e) => { out[name] = e.target.result; };
			tx.oncomplete = () => { db.close(); done(JSON.stringify(out)); };
		};
	})`)
}

// alter changes the records of a table with a function of JavaScript, which returns
// the record to store, or nothing.
func alter(p *browser.Page, table, change string) {
	p.Eval(`new Promise((done, failed) => {
		const open = indexedDB.open("pitwise");
		open.onerror = () => failed(open.error);
		open.onsuccess = () => {
			const db = open.result, tx = db.transaction("` + table + `", "readwrite"), change = ` + change + `;
			tx.objectStore("` + table + `").openCursor().onsuccess = (e) => {
				const at = e.target.result;
				if (!at) return;
				const to = change(at.value);
				if (to) at.update(to);
				at.continue();
			};
			tx.oncomplete = () => { db.close(); done(); };
			tx.onabort = () => failed(tx.error);
		};
	})`)
}

// noted writes a note.
func noted(p *browser.Page, text string) {
	p.Tap("Other")
	// Above the button the list of steps still grows: no finger would hit it in time.
	p.Until(`(() => {
		const add = [...document.querySelectorAll("button")].find((b) => b.innerText === "Add a note");
		if (add) add.click();
		return document.querySelector(".sheet") !== null;
	})()`)
	p.Type("What should be remembered?", text)
	p.Tap("Record the note")
	p.Until(`document.querySelector(".sheet") === null`)
}

// taken takes the trail on the screen away and returns it.
func taken(t *testing.T, p *browser.Page) *trail.Trail {
	t.Helper()
	p.Tap("Save or share the trail")
	p.Tap("Save: Trail (JSON)")
	_, body := p.Downloaded()
	p.Until(`document.querySelector(".sheet") === null`) // it closes when the file is handed over
	tr, err := trail.Load(body)
	require.NoError(t, err)
	return tr
}

func kinds(tr *trail.Trail) (texts []string) {
	for _, e := range tr.Events {
		if e.Kind == trail.Note {
			texts = append(texts, e.Text)
		}
	}
	return texts
}

// versionOne is a database as the first version of the schema wrote it: testdata/schema.
func versionOne(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(browser.Tree(t).Root, "testdata", "schema", "version-1.json"))
	require.NoError(t, err)
	return string(text)
}

// laid lays a database of the first version into the browser.
func laid(p *browser.Page, fixture string) {
	p.Eval(`new Promise((done, failed) => {
		const fixture = ` + fixture + `;
		const open = indexedDB.open("pitwise", 1);
		open.onerror = () => failed(open.error);
		open.onupgradeneeded = () => {
			for (const [name, key] of [["units", "id"], ["events", ["unit", "n"]], ["models", "sha256"], ["kept", "key"]]) {
				const store = open.result.createObjectStore(name, {keyPath: key});
				for (const record of fixture.tables[name]) store.add(record);
			}
		};
		open.onsuccess = () => { open.result.close(); done(); };
	})`)
}

func TestWhatVersionOneStoredOpensWhole(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	outside(p, s)
	laid(p, versionOne(t))
	p.Go("/")
	p.See("Old one, shelf 1")
	p.See("Show what is put away (1)")
	assert.Equal(t, "dark", browser.Value[string](p, "document.documentElement.dataset.theme"))
	p.Go("/unit/01ARYZ6S410000000000000001/trail")
	p.Until(`document.querySelectorAll(".event").length === 5`)
	assert.NotContains(t, p.Text(), "cannot be read")

	var before struct {
		Tables map[string][]map[string]any
	}
	require.NoError(t, json.Unmarshal([]byte(versionOne(t)), &before))
	var after map[string]any
	require.NoError(t, json.Unmarshal([]byte(tables(p, "units", "events", "models", "kept", "photos")), &after))
	assert.Equal(t, 3000.0, after["version"])
	assert.Equal(t, []any{}, after["photos"])
	for name, want := range before.Tables {
		got, _ := after[name].([]any)
		require.GreaterOrEqual(t, len(got), len(want), name)
		for _, w := range want {
			assert.Contains(t, got, any(w), "%s: a record is not as it was", name)
		}
	}
	noted(p, "under version two")
	p.See("Recorded.")
	p.Tap("Trail")
	p.Upload("Choose pictures", saved(t, "good.png", pngOfHalves(t)))
	thumbs(p, 1)
	assert.Equal(t, 6, photosIn(t, p)[0].Of)
	p.Reload()
	thumbs(p, 1)
	p.Until(`document.querySelectorAll(".event").length === 6`)
}

func TestADatabaseOfANewerVersionIsRefused(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	outside(p, s)
	p.Eval(`new Promise((done) => {
		const open = indexedDB.open("pitwise", 99000);
		open.onupgradeneeded = () => open.result.createObjectStore("units", {keyPath: "id"}).add({id: "FUTURE", what: "unknown"});
		open.onsuccess = () => { open.result.close(); done(); };
	})`)
	p.Go("/")
	p.See("The stored units are from a newer version of this page.")
	p.Screenshot("storage-newer")
	p.Accessible()
	p.Fits()
	assert.JSONEq(t, `{"version": 99000, "units": [{"id": "FUTURE", "what": "unknown"}]}`, tables(p, "units"), "it was touched")
	begin(p, "In memory")
	noted(p, "still works")
	assert.Equal(t, []string{"still works"}, kinds(taken(t, p)))
	assert.JSONEq(t, `{"version": 99000, "units": [{"id": "FUTURE", "what": "unknown"}]}`, tables(p, "units"))
}

func TestAnOlderVersionInAnotherTabIsInTheWay(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	c := browser.Start(t)
	old := c.Open(s)
	outside(old, s)
	laid(old, versionOne(t))
	old.Eval(`new Promise((done) => {
		const open = indexedDB.open("pitwise", 1);
		open.onsuccess = () => { window.held = open.result; done(); };
	})`)
	p := c.Open(s)
	p.Go("/")
	p.See("Another window holds the page in another version. Close it and load this one again.")
	p.Screenshot("storage-blocked")
	p.Accessible()
	p.Fits()
	begin(p, "Meanwhile")
	noted(p, "not lost")
	assert.Equal(t, []string{"not lost"}, kinds(taken(t, p)), "what is in memory can be taken away")
	old.Eval(`window.held.close()`)
	// The upgrade that was in the way goes on now, and makes its tables.
	assert.JSONEq(t, `{"version": 3000, "photos": [], "cards": []}`, tables(old, "photos", "cards"))
	p.Go("/")
	p.See("Old one, shelf 1")
	p.Gone("Another window holds the page")
	p.Tap("Old one, shelf 1")
	p.Tap("Trail")
	p.Upload("Choose pictures", saved(t, "good.png", pngOfHalves(t)))
	thumbs(p, 1)
	p.Reload()
	thumbs(p, 1)
}

// TestADatabaseThatLacksTablesIsMended: an upgrade that was cut off from what makes the
// tables has left databases that have their version and not their tables.
func TestADatabaseThatLacksTablesIsMended(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	outside(p, s)
	laid(p, versionOne(t))
	p.Eval(`new Promise((done, failed) => {
		const open = indexedDB.open("pitwise", 3000);
		open.onerror = () => failed(open.error);
		open.onsuccess = () => { open.result.close(); done(); };
	})`)
	for range 2 { // what was mended is no newer version
		p.Go("/")
		p.See("Old one, shelf 1")
		assert.NotContains(t, p.Text(), "newer version")
	}
	p.Go("/unit/01ARYZ6S410000000000000001/trail")
	p.Upload("Choose pictures", saved(t, "good.png", pngOfHalves(t)))
	thumbs(p, 1)
	p.Reload()
	thumbs(p, 1)
	p.Until(`document.querySelectorAll(".event").length === 5`)
}

// TestTheBrowsersStorageHoldsToTheContract runs the checks that the fake is held to.
func TestTheBrowsersStorageHoldsToTheContract(t *testing.T) {
	t.Parallel()
	s := browser.ServeProgram(t, "./cmd/dev/tabs")
	p := browser.Start(t).Open(s)
	p.Visit(s.URL("/"))
	p.Until("window.tabReady")
	assert.JSONEq(t, "{}", browser.Value[string](p, "tabContract()"))
}

// TestOneConnectionIsOpenedAnew: many who wait for a lost connection wait for one.
func TestOneConnectionIsOpenedAnew(t *testing.T) {
	t.Parallel()
	s := browser.ServeProgram(t, "./cmd/dev/tabs")
	p := browser.Start(t).Open(s)
	p.Before(`(() => {
		window.opened = 0;
		window.open = [];
		const open = IDBFactory.prototype.open;
		IDBFactory.prototype.open = function (...all) {
			window.opened++;
			const request = open.apply(this, all);
			request.addEventListener("success", () => window.open.push(request.result));
			return request;
		};
	})()`)
	p.Visit(s.URL("/"))
	p.Until("window.tabReady")
	require.Equal(t, 1, browser.Value[int](p, "window.opened"))
	for again := range 3 {
		// Closed behind the page's back, as a phone does in the background.
		p.Eval(`window.open[window.open.length - 1].close()`)
		assert.Zero(t, browser.Value[int](p, "tabAtOnce(20)"), "no read fails for it")
		assert.Equal(t, again+2, browser.Value[int](p, "window.opened"), "one connection for all")
	}
}

func TestANewerVersionInAnotherTabTakesOver(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	begin(p, "Shelf 30")
	newer := c.Open(s)
	outside(newer, s)
	newer.Eval(`new Promise((done, failed) => {
		const open = indexedDB.open("pitwise", 4000);
		open.onerror = open.onblocked = () => failed("in the way");
		open.onupgradeneeded = () => open.result.createObjectStore("future");
		open.onsuccess = () => { open.result.close(); done(); };
	})`)
	p.See("Another window holds the page in another version.")
	noted(p, "after that")
	p.See("One step is only in memory.")
	p.See("Another window holds the page in another version.")
	assert.Equal(t, []string{"after that"}, kinds(taken(t, p)))
	p.Reload()
	p.See("The stored units are from a newer version of this page.")
}

func TestStorageThatIsDenied(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	for name, script := range map[string]string{
		"there is none":        `Object.defineProperty(window, "indexedDB", {value: undefined})`,
		"asking for it throws": `Object.defineProperty(window, "indexedDB", {get() { throw new DOMException("denied", "SecurityError"); }})`,
		"opening it throws":    `IDBFactory.prototype.open = () => { throw new DOMException("denied", "SecurityError"); }`,
	} {
		t.Run(name, func(t *testing.T) {
			p := browser.Start(t).Open(s)
			says := "This browser keeps nothing for this page"
			p.Before(script)
			p.Go("/")
			p.See(says)
			begin(p, "In memory")
			noted(p, "nothing is lost yet")
			p.See(says)
			assert.Equal(t, []string{"nothing is lost yet"}, kinds(taken(t, p)))
			p.Go("/settings")
			p.See(says)
		})
	}
}

// silent lets the test keep the browser from saying whether there is a database, with
// window.silent, and say so after all, with window.answer.
const silent = `(() => {
	const open = IDBFactory.prototype.open;
	let asked = [];
	IDBFactory.prototype.open = function (...all) {
		if (!window.silent) return open.apply(this, all);
		const request = new EventTarget();
		asked.push([request, all]);
		return request;
	};
	window.answer = () => {
		window.silent = false;
		for (const [request, all] of asked) {
			const real = open.apply(indexedDB, all);
			real.onupgradeneeded = () => {
				[request.result, request.transaction] = [real.result, real.transaction];
				request.onupgradeneeded();
			};
			real.onsuccess = () => { request.result = real.result; request.dispatchEvent(new Event("success")); };
		}
		asked = [];
	};
})()`

func TestStorageThatDoesNotAnswer(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	says := "The storage of this browser does not answer."
	t.Run("from the start", func(t *testing.T) {
		t.Parallel()
		p := browser.Start(t).Open(s)
		p.Before(silent)
		p.Before(`window.silent = true`)
		p.Go("/")
		p.See(says)
		begin(p, "In memory")
		noted(p, "nothing is lost yet")
		p.See(says)
		p.Screenshot("storage-silent")
		p.Accessible()
		assert.Equal(t, []string{"nothing is lost yet"}, kinds(taken(t, p)))
	})
	t.Run("in the middle", func(t *testing.T) {
		t.Parallel()
		c := browser.Start(t)
		p := c.Open(s)
		p.Before(silent)
		p.Go("/")
		begin(p, "Shelf 34")
		noted(p, "before")
		p.See("Recorded.")
		p.Eval(`void (window.silent = true)`)
		deleted(c.Open(s), s)
		p.See("2 steps are only in memory.")
		p.Tap("Store again")
		p.See(says)
		p.See("2 steps are only in memory.")
		assert.Equal(t, []string{"before"}, kinds(taken(t, p)))
		p.Eval(`window.answer()`)
		p.Tap("Store again")
		p.Gone("are only in memory.")
		p.Gone(says)
		p.Reload()
		p.Until(`document.querySelectorAll(".event").length === 2`)
	})
}

// deleted deletes the database of the page from another window, as a person does by hand.
func deleted(other *browser.Page, s *browser.Server) {
	outside(other, s)
	other.Eval(deletes)
}

const deletes = `new Promise((done, failed) => { const gone = indexedDB.deleteDatabase("pitwise"); gone.onsuccess = done; gone.onerror = failed; })`

// full makes the storage answer as a browser does that has no room left: what is put
// in seems to go in, and the transaction is undone in the end.
const full = `(() => {
	const add = window.addBefore = IDBObjectStore.prototype.add;
	IDBObjectStore.prototype.add = function (...all) {
		const tx = this.transaction, request = add.apply(this, all);
		Object.defineProperty(tx, "error", {get: () => new DOMException("no room left", "QuotaExceededError")});
		request.addEventListener("success", () => { try { tx.abort(); } catch {} });
		return request;
	};
})()`

func TestStorageThatIsFull(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	begin(p, "Shelf 31")
	p.Eval(full)
	noted(p, "no room for this")
	p.See("The storage of this device is full.")
	p.See("One step is only in memory.")
	p.Screenshot("storage-full")
	p.Accessible()
	assert.Equal(t, []string{"no room for this"}, kinds(taken(t, p)))
	p.Tap("Store again")
	p.See("One step is only in memory.")
	p.Tap("Trail")
	p.Upload("Choose pictures", saved(t, "good.png", pngOfHalves(t)))
	p.See("good.png: the storage of this device is full. The photograph is kept in memory only")
	p.See("not stored yet")
	p.Screenshot("photo-full")
	assert.Empty(t, photosIn(t, p))
	assert.Len(t, strings.Split(browser.Value[string](p, storedEvents), "},{"), 1, "the first step is there and nothing else")
	p.Eval(`void (IDBObjectStore.prototype.add = window.addBefore)`)
	p.Eval(`void [...document.querySelectorAll(".photos button")].find((b) => b.innerText === "Store again").click()`)
	p.Until(`!document.querySelector(".photos").innerText.includes("not stored yet")`)
	p.Eval(`void [...document.querySelectorAll(".banners button")].find((b) => b.innerText === "Store again").click()`)
	p.Gone("One step is only in memory.")
	p.Gone("The storage of this device is full.")
	assert.Len(t, photosIn(t, p), 1)
	p.Reload()
	thumbs(p, 1)
	p.Until(`document.querySelectorAll(".event").length === 2`)
}

func TestStorageThatIsClearedUnderThePage(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	for name, clear := range map[string]func(*browser.Browser, *browser.Page){
		"by the browser": func(_ *browser.Browser, p *browser.Page) { p.Evict() },
		"by hand":        func(c *browser.Browser, p *browser.Page) { deleted(c.Open(s), s) },
	} {
		t.Run(name, func(t *testing.T) {
			c := browser.Start(t)
			p := c.Open(s)
			p.Go("/")
			begin(p, "Shelf 32")
			noted(p, "before")
			p.See("Recorded.")
			clear(c, p)
			p.See("The browser has cleared what this page had stored.")
			p.See("2 steps are only in memory.")
			p.Screenshot("storage-cleared")
			p.Accessible()
			assert.Equal(t, []string{"before"}, kinds(taken(t, p)))
			p.Tap("Store again")
			p.Gone("are only in memory.")
			p.Gone("The browser has cleared")
			noted(p, "after")
			p.See("Recorded.")
			p.Reload()
			p.Until(`document.querySelectorAll(".event").length === 3`)
			p.See("Shelf 32")

			deleted(p, s) // not by the browser: one that clears what is just being left may never open it again
			p.Go("/unit/01ARYZ6S410000000000000001")
			p.See("There is no such unit on this device.")
			p.Go("/")
			p.See("Find what is wrong")
		})
	}
}

func TestWhereTheBrowserMayClearTheBenchIsAskedFor(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Before(`StorageManager.prototype.persist = StorageManager.prototype.persisted = () => Promise.resolve(false)`)
	p.Go("/")
	begin(p, "Shelf 33")
	p.Tap("Back to the bench")
	p.See("The browser may clear your units by itself, and their latest steps are in no file yet.")
	p.Screenshot("bench-ask")
	p.Accessible()
	p.Fits()
	p.Tap("Save: The whole bench in one file")
	_, body := p.Downloaded()
	assert.Contains(t, string(body), "Shelf 33")
	p.Gone("The browser may clear your units by itself")
	p.Reload()
	p.See("Shelf 33")
	assert.NotContains(t, p.Text(), "The browser may clear your units by itself")
	p.Tap("Shelf 33")
	p.Eval(`void (window.second = Math.floor(Date.now() / 1000))`)
	p.Until(`Math.floor(Date.now() / 1000) > window.second`) // times are in whole seconds
	noted(p, "later")
	p.Tap("Back to the bench")
	p.See("The browser may clear your units by itself")
	p.Go("/settings")
	p.Until(`/\d MB used, [\d,]+ MB left/.test(document.body.innerText.replace(/[\u00a0\u202f]/g, " "))`)
	p.See("The browser may clear your units when the device runs out of room.")
}

func TestDamagedRecordsLeaveTheRestBe(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	units := map[string]string{}
	for _, label := range []string{"Cut", "Flipped", "Edited", "Headless", "Sound"} {
		begin(p, label)
		units[label] = unitOf(p)
		noted(p, "second of "+label)
		p.See("Recorded.")
		noted(p, "third of "+label)
		p.See("Recorded.")
		p.Tap("Back to the bench")
	}
	alter(p, "events", fmt.Sprintf(`(e) => {
		if (e.n !== 2) return;
		if (e.unit === %q) return {...e, json: e.json.slice(0, 20)};
		if (e.unit === %q) return {...e, json: e.json.replace("second", "sec\x6fne")};
		if (e.unit === %q) return {...e, json: e.json.replace("second", "2nd")};
	}`, units["Cut"], units["Flipped"], units["Edited"]))
	alter(p, "units", fmt.Sprintf(`(u) => u.id === %q ? {...u, head: u.head.slice(0, -9)} : undefined`, units["Headless"]))
	p.Reload()
	p.Until(`document.querySelectorAll(".card-damaged").length === 4`)
	p.Screenshot("bench-damaged")
	for _, label := range []string{"Cut", "Flipped", "Edited"} {
		t.Run(label, func(t *testing.T) {
			p.In(t)
			p.Go("/unit/" + units[label] + "/trail")
			p.See("2 records of this unit cannot be read. They are kept aside as they are.")
			assert.Equal(t, 1, steps(p))
			p.Tap("Save to a file")
			_, body := p.Downloaded()
			assert.Contains(t, string(body), "third of "+label)
			noted(p, "and on")
			p.See("Recorded.")
			p.Reload()
			p.Tap("Trail")
			p.See("2 records of this unit cannot be read.")
			assert.Equal(t, 2, steps(p))
			p.Tap("Save to a file")
			_, again := p.Downloaded()
			assert.ElementsMatch(t, strings.Split(string(body), "\n"), strings.Split(string(again), "\n"), "what is aside stays as it was")
		})
	}
	p.Go("/unit/" + units["Headless"])
	p.See("The record of this unit cannot be read.")
	p.Screenshot("unit-headless")
	p.Accessible()
	p.Tap("Save to a file")
	_, body := p.Downloaded()
	assert.Contains(t, string(body), "third of Headless")
	p.Go("/unit/" + units["Sound"] + "/trail")
	p.Until(`document.querySelectorAll(".event").length === 3`)
	assert.NotContains(t, p.Text(), "cannot be read")
}

// manyTaps is how many events the two tabs record through the page itself.
const manyTaps = 40

// clicker takes the first step back and brings it back as fast as the page lets it,
// until the trail has so many events, and counts what it committed and was refused.
const clicker = `(() => {
	window.committed = window.refused = 0;
	const transaction = IDBDatabase.prototype.transaction;
	IDBDatabase.prototype.transaction = function (stores, mode, options) {
		const tx = transaction.call(this, stores, mode, options);
		if (mode === "readwrite" && [...tx.objectStoreNames].includes("events")) tx.addEventListener("complete", () => window.committed++);
		return tx;
	};
	let last = "";
	new MutationObserver(() => {
		const now = document.querySelector(".notices").textContent.includes("Yours was not recorded");
		if (now && !last) window.refused++;
		last = now;
	}).observe(document.body, {subtree: true, childList: true, characterData: true});
	window.clicking = setInterval(() => {
		const events = document.querySelectorAll(".event").length;
		if (events >= %[1]d) { clearInterval(window.clicking); return; }
		// The tabs take turns of some seconds that overlap: one that was too late would else
		// be too late again, while it still reads what it missed.
		const turn = (Date.now() / 4000) %% 1;
		if (%[2]d ? turn < 0.45 : turn > 0.6) return;
		const buttons = document.querySelectorAll(".event button");
		if (buttons.length && !document.querySelector(".sheet")) buttons[buttons.length - 1].click();
	}, 20);
})()`

func TestTwoTabsTapAtOnce(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	c := browser.Start(t)
	one := c.Open(s)
	one.Go("/")
	begin(one, "Shelf 34")
	two := c.Open(s)
	unit := unitOf(one)
	one.Go("/unit/" + unit + "/trail")
	two.Go("/unit/" + unit + "/trail")
	two.Until(`document.querySelectorAll(".event").length === 1`)
	one.Eval(fmt.Sprintf(clicker, manyTaps, 0))
	two.Eval(fmt.Sprintf(clicker, manyTaps, 1))
	// The page works out what to do next after each tap, so a busy machine takes a while.
	for deadline := time.Now().Add(4 * time.Minute); steps(one) < manyTaps || steps(two) < manyTaps; time.Sleep(200 * time.Millisecond) {
		require.True(t, time.Now().Before(deadline), "%d and %d events are shown", steps(one), steps(two))
	}
	var stored []struct {
		N int `json:"n"`
	}
	converged := func(p *browser.Page) {
		p.Until(storedEvents + `.then((text) => JSON.parse(text).length === document.querySelectorAll(".event").length)`)
	}
	converged(one)
	converged(two)
	require.NoError(t, json.Unmarshal([]byte(browser.Value[string](one, storedEvents)), &stored))
	for i, e := range stored {
		assert.Equal(t, i+1, e.N)
	}
	committed := browser.Value[int](one, "window.committed") + browser.Value[int](two, "window.committed")
	refused := browser.Value[int](one, "window.refused") + browser.Value[int](two, "window.refused")
	assert.Equal(t, len(stored)-1, committed, "each event was committed by one tab, once")
	assert.Equal(t, browser.Value[int](one, `document.querySelectorAll(".event").length`), browser.Value[int](two, `document.querySelectorAll(".event").length`))
	t.Logf("%d events of two tabs, %d of them by the second; %d taps refused and told", committed, browser.Value[int](two, "window.committed"), refused)
	assert.Positive(t, browser.Value[int](one, "window.committed"))
	assert.Positive(t, browser.Value[int](two, "window.committed"))
}

// TestTwoTabsRecordAtOnce: in two tabs of one profile, both recording as fast as they
// can, 300 events (or PITWISE_WRITES) go through the page's storage code, and 60 through
// the page without its views (state, runner and storage), which reads the trail again at
// each clash. Then both take counts of other benches in.
func TestTwoTabsRecordAtOnce(t *testing.T) {
	t.Parallel()
	s := browser.ServeProgram(t, "./cmd/dev/tabs")
	for _, row := range []struct {
		name, call string // with the unit, the tab's mark and its share
		shown      string
		events     int
	}{
		{"with the storage", "tabStore(%[1]q, %[2]q, %[3]d)", "tabRead(%q)", browser.Asked(t, "PITWISE_WRITES", 300)},
		{"as the page does", "(%[1]q, tabWrite(%[2]q, %[3]d))", "(%q, tabShown())", 60},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := browser.Start(t)
			var tabs []*browser.Page
			unit := ""
			for range 2 {
				p := c.Open(s)
				p.Visit(s.URL("/"))
				p.Until("window.tabReady")
				unit = browser.Value[string](p, fmt.Sprintf("tabOpen(%q)", unit))
				tabs = append(tabs, p)
			}
			begun := time.Now()
			for i, p := range tabs {
				p.Eval(fmt.Sprintf("void ("+row.call+").then((clashes) => { window.tabClashes = clashes; })", unit, fmt.Sprintf("tab %d", i+1), row.events/2))
			}
			for _, p := range tabs {
				for deadline := begun.Add(10 * time.Minute); !browser.Value[bool](p, "window.tabClashes !== undefined"); time.Sleep(100 * time.Millisecond) {
					require.True(t, time.Now().Before(deadline), "the tabs do not come to an end: %d events stored", browser.Value[int](p, storedEvents+`.then((text) => JSON.parse(text).length)`))
				}
			}
			took := time.Since(begun)
			clashes := []int{browser.Value[int](tabs[0], "window.tabClashes"), browser.Value[int](tabs[1], "window.tabClashes")}
			var stored []struct {
				N    int        `json:"n"`
				Kind trail.Kind `json:"kind"`
				Text string     `json:"text"`
			}
			require.NoError(t, json.Unmarshal([]byte(browser.Value[string](tabs[0], storedEvents)), &stored))
			seen := map[string]int{}
			var texts []string
			for i, e := range stored {
				require.Equal(t, i+1, e.N)
				seen[e.Text]++
				if e.Kind == trail.Note {
					texts = append(texts, e.Text)
				}
			}
			for i := range 2 {
				for n := 1; n <= row.events/2; n++ {
					assert.Equal(t, 1, seen[fmt.Sprintf("tab %d %d", i+1, n)], "note %d of tab %d", n, i+1)
				}
			}
			for i, p := range tabs {
				call := fmt.Sprintf(row.shown, unit)
				p.Until(fmt.Sprintf("%s.then((text) => JSON.parse(text).length === %d)", call, len(texts)))
				var shown []string
				require.NoError(t, json.Unmarshal([]byte(browser.Value[string](p, call)), &shown))
				assert.Equal(t, texts, shown, "tab %d shows what is stored", i+1)
			}
			turns := 0
			for i := 1; i < len(texts); i++ {
				if strings.HasPrefix(texts[i], "tab 1") != strings.HasPrefix(texts[i-1], "tab 1") {
					turns++
				}
			}
			t.Logf("%d events in %.1f s; the tabs took turns %d times; told that the other was first: %v", len(texts), took.Seconds(), turns, clashes)
			assert.Greater(t, turns, row.events/50, "the tabs did not write at once")
			assert.Positive(t, slices.Max(clashes), "no tab was ever too late")

			const benches = 20 // a tab
			for i, p := range tabs {
				p.Eval(fmt.Sprintf(`void tabLend("tab %d", %d).then((kept) => { window.tabKept = kept; })`, i+1, benches))
			}
			for _, p := range tabs {
				p.Until("window.tabKept")
			}
			kept := browser.Value[string](tabs[0], `tabLend("", 0)`)
			for i := range tabs {
				assert.Equal(t, benches, strings.Count(kept, fmt.Sprintf(`"tab %d `, i+1)), "of tab %d, in %s", i+1, kept)
			}
		})
	}
}
