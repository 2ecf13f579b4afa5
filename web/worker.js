// The offline worker of Pitwise. It stores every file of one version, all or
// nothing, answers from that store alone, and waits for the person's yes before
// it takes the place of an older version.
"use strict";

const version = {{json .Version}};
// Each file's address, relative to this worker, and the digest it must have.
const files = {{json .Files}};

const scope = new URL("./", self.location.href);
const family = "pitwise " + scope.pathname + " ";
const store = family + version;

self.addEventListener("install", (event) => {
  event.waitUntil(fill());
});

async function fill() {
  const had = await caches.has(store);
  const cache = await caches.open(store);
  try {
    await cache.addAll(
      files.map(
        (file) =>
          new Request(new URL(file.path, scope), {
            integrity: file.integrity,
            credentials: "same-origin",
            redirect: "error",
            // Files below v/ never change; the others must be asked for anew.
            cache: file.path.startsWith("v/") ? "default" : "no-cache",
          })
      )
    );
  } catch (err) {
    // What was whole before still is: addAll stores all or nothing.
    if (!had) {
      await caches.delete(store);
    }
    throw err;
  }
}

// ---- Which version is served ----------------------------------------------

// A browser puts a waiting worker in charge by itself once every window is
// closed. That is no yes: the version that was agreed to is noted in a store of
// its own, and its files are served until another one is agreed to.

const note = new URL("served-version", scope).href;
let served = null;

async function servedVersion() {
  if (served === null) {
    const found = await (await caches.open(family + "note")).match(note);
    const noted = found ? await found.text() : "";
    // Without a note, or if the browser dropped the files, this version serves.
    served = (await caches.has(family + noted)) ? noted : version;
  }
  return served;
}

async function serve(wanted) {
  await (await caches.open(family + "note")).put(note, new Response(wanted));
  served = wanted;
}

// Older versions go only once another one is served.
async function tidy() {
  const kept = [family + "note", store, family + (await servedVersion())];
  for (const name of await caches.keys()) {
    if (name.startsWith(family) && !kept.includes(name)) {
      await caches.delete(name);
    }
  }
}

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      await serve(await servedVersion());
      await tidy();
      await self.clients.claim();
    })()
  );
});

self.addEventListener("message", (event) => {
  const asked = event.data && event.data.pitwise;
  if (asked === "which") {
    event.source.postMessage({ pitwise: "version", version });
  }
  if (asked === "take-over") {
    event.waitUntil(takeOver());
  }
});

async function takeOver() {
  await serve(version);
  if (self.registration.waiting) {
    // That is this worker, for a page asks the newest. The windows hear of it
    // by the change of their controller.
    await self.skipWaiting();
    return;
  }
  await tidy();
  for (const client of await self.clients.matchAll()) {
    client.postMessage({ pitwise: "taken-over" });
  }
}

// ---- Answers ----------------------------------------------------------------

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== scope.origin || !url.pathname.startsWith(scope.pathname)) {
    return;
  }
  event.respondWith(answer(event.request));
});

async function answer(request) {
  const cache = await caches.open(family + (await servedVersion()));
  const options = { ignoreSearch: true, ignoreVary: true };
  let found = await cache.match(request.url, options);
  if (!found && request.mode === "navigate") {
    // A deep link: the page itself finds its way by the address.
    found = await cache.match(scope.href, options);
  }
  return found || fetch(request);
}
