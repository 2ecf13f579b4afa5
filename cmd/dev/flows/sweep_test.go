//go:build browser

package flows_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// failing counts every request to the database, its opening and what its upgrade makes, and
// lets one of them fail: "12 abort" lets the transaction of the twelfth be undone, "12 quota"
// lets it be undone for want of room once the request was answered, "12 closed" closes the
// connection under it.
const failing = `(() => {
	window.requests = 0;
	window.failed = "";
	let at = 0, how = "";
	window.failing = (what) => {
		if (what === "") { at = 0; return; }
		const parts = what.split(" ");
		at = Number(parts[0]);
		how = parts[1];
		window.requests = 0;
		window.failed = "";
	};
	const wrap = (of, names) => {
		for (const name of names) {
			const before = of.prototype[name];
			of.prototype[name] = function (...all) {
				window.requests++;
				const mine = window.requests === at;
				const makes = name.startsWith("create");
				if (mine && makes && how === "quota") {
					window.failed = name;
					throw new DOMException("no room left", "QuotaExceededError");
				}
				const request = before.apply(this, all);
				if (!mine) return request;
				const tx = (makes ? request.transaction || request.objectStore.transaction : this.transaction || this.objectStore.transaction);
				window.failed = makes ? name : name + " of " + [...tx.objectStoreNames].join(", ");
				if (how === "quota") {
					Object.defineProperty(tx, "error", {get: () => new DOMException("no room left", "QuotaExceededError")});
					request.addEventListener("success", () => { try { tx.abort(); } catch {} });
				} else {
					const db = tx.db;
					queueMicrotask(() => { try { tx.abort(); } catch {} if (how === "closed") db.close(); });
				}
				return request;
			};
		}
	};
	wrap(IDBObjectStore, ["add", "put", "get", "getAll", "getAllKeys", "count", "delete", "openKeyCursor", "createIndex"]);
	wrap(IDBDatabase, ["createObjectStore"]);
	wrap(IDBIndex, ["getAll", "getAllKeys", "count"]);
	const transaction = IDBDatabase.prototype.transaction;
	IDBDatabase.prototype.transaction = function (...all) {
		window.requests++;
		if (window.requests === at) {
			window.failed = "transaction";
			throw new DOMException("no transaction", how === "closed" ? "InvalidStateError" : how === "quota" ? "QuotaExceededError" : "UnknownError");
		}
		return transaction.apply(this, all);
	};
	const open = IDBFactory.prototype.open;
	IDBFactory.prototype.open = function (...all) {
		window.requests++;
		if (window.requests !== at) return open.apply(this, all);
		window.failed = "open";
		const request = how === "closed" ? open.apply(this, all) : new EventTarget();
		if (how === "closed") {
			request.addEventListener("success", () => request.result.close());
		} else {
			request.error = new DOMException("not opened", how === "quota" ? "QuotaExceededError" : "UnknownError");
			setTimeout(() => request.dispatchEvent(new Event("error")));
		}
		return request;
	};
})()`

// TestWhateverRequestOfTheBrowsersDatabaseFailsNothingIsLost plays the evening of package sweep
// over and over, each time on a database as the first version of the schema left it, and lets
// another request to the browser's database fail each time: every eighty-third, or every so
// many-th with PITWISE_SWEEP_EVERY (1: all of them). app/runner does so with the fake.
func TestWhateverRequestOfTheBrowsersDatabaseFailsNothingIsLost(t *testing.T) {
	t.Parallel()
	every := browser.Asked(t, "PITWISE_SWEEP_EVERY", 83)
	s := browser.ServeProgram(t, "./cmd/dev/tabs")
	p := browser.Start(t).Open(s)
	p.Before(failing)
	p.Visit(s.URL("/"))
	p.Until("window.tabReady")
	fixture := versionOne(t)
	var tables struct {
		Tables struct{ Events []struct{ Unit string } }
	}
	require.NoError(t, json.Unmarshal([]byte(fixture), &tables))
	events := map[string]int{}
	for _, e := range tables.Tables.Events {
		events[e.Unit]++
	}
	require.Len(t, events, 2)
	before, err := json.Marshal(events)
	require.NoError(t, err)
	play := func(fail string) (said struct {
		Requests int
		Failed   string
		Lost     []string
	}) {
		p.Eval(deletes)
		laid(p, fixture)
		p.Eval(fmt.Sprintf("void (window.said = '', tabEvening(%q, JSON.stringify(%s)).then((said) => { window.said = said; }))", fail, before))
		for deadline := time.Now().Add(2 * time.Minute); browser.Value[string](p, "window.said") == ""; time.Sleep(20 * time.Millisecond) {
			require.True(t, time.Now().Before(deadline), "the evening with the failure %q does not end; it was %q", fail, browser.Value[string](p, "window.failed"))
		}
		require.NoError(t, json.Unmarshal([]byte(browser.Value[string](p, "window.said")), &said))
		return said
	}
	whole := play("0 none")
	require.Empty(t, whole.Lost, "an evening without a failure")
	require.Greater(t, whole.Requests, 300)
	runs, losses, failed := 0, 0, map[string]bool{}
	for k, how := range []string{"abort", "quota", "closed"} {
		for n := 1 + k*every/3; n <= whole.Requests; n += every {
			said := play(fmt.Sprintf("%d %s", n, how))
			runs++
			losses += len(said.Lost)
			failed[said.Failed] = true
			assert.Empty(t, said.Lost, "request %d, %s (%s)", n, how, said.Failed)
			require.Less(t, losses, 20)
		}
	}
	t.Logf("%d requests an evening; %d evenings with one that fails, of %d kinds; %d losses", whole.Requests, runs, len(failed), losses)
}
