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
    await caches.delete(store);
    throw err;
  }
}

// Older versions go only once this one is in charge.
self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) {
        if (name.startsWith(family) && name !== store) {
          await caches.delete(name);
        }
      }
      await self.clients.claim();
    })()
  );
});

self.addEventListener("message", (event) => {
  if (event.data && event.data.pitwise === "take-over") {
    self.skipWaiting();
  }
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== scope.origin || !url.pathname.startsWith(scope.pathname)) {
    return;
  }
  event.respondWith(answer(event.request));
});

async function answer(request) {
  const cache = await caches.open(store);
  const options = { ignoreSearch: true, ignoreVary: true };
  let found = await cache.match(request.url, options);
  if (!found && request.mode === "navigate") {
    // A deep link: the page itself finds its way by the address.
    found = await cache.match(scope.href, options);
  }
  return found || fetch(request);
}
