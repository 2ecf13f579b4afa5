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

// failing counts every request to the database, and makes one of them fail: "12 abort" lets
// the transaction of the twelfth be undone, "12 quota" lets it be undone for want of room
// once the request was answered, "12 closed" closes the connection under it.
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
				const request = before.apply(this, all);
				if (!mine) return request;
				const tx = this.transaction || this.objectStore.transaction;
				window.failed = name + " of " + [...tx.objectStoreNames].join(", ");
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
	wrap(IDBObjectStore, ["add", "put", "get", "getAll", "getAllKeys", "count", "delete", "openKeyCursor"]);
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
})()`

// TestWhateverRequestOfTheBrowsersDatabaseFailsNothingIsLost plays an evening in two windows
// over and over, and lets another request to the browser's database fail each time: every
// forty-first, or every so many-th with PITWISE_SWEEP_EVERY (1: all of them). app/runner sweeps all of its own storage.
func TestWhateverRequestOfTheBrowsersDatabaseFailsNothingIsLost(t *testing.T) {
	t.Parallel()
	every := browser.Asked(t, "PITWISE_SWEEP_EVERY", 41)
	s := browser.ServeProgram(t, "./cmd/dev/tabs")
	p := browser.Start(t).Open(s)
	p.Before(failing)
	p.Visit(s.URL("/"))
	p.Until("window.tabReady")
	play := func(fail string) (said struct {
		Requests int
		Failed   string
		Lost     []string
	}) {
		p.Eval(fmt.Sprintf("void (window.said = '', tabEvening(%q).then((said) => { window.said = said; }))", fail))
		for deadline := time.Now().Add(2 * time.Minute); browser.Value[string](p, "window.said") == ""; time.Sleep(20 * time.Millisecond) {
			require.True(t, time.Now().Before(deadline), "the evening with the failure %q does not end; it was %q", fail, browser.Value[string](p, "window.failed"))
		}
		require.NoError(t, json.Unmarshal([]byte(browser.Value[string](p, "window.said")), &said))
		return said
	}
	whole := play("0 none")
	require.Empty(t, whole.Lost, "an evening without a failure")
	require.Greater(t, whole.Requests, 100)
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
