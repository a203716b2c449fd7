// Opens the stopwatch again while there is no connection: this page and its assets, nothing else.
// KEEP is written above by the server: the page, its assets, and the sum over them.
/* global KEEP */
const NAME = "tickover " + KEEP.page + " " + KEEP.sum;
const PATIENCE = 4000; // a weak connection must not hold up a page that lies here [ms]

self.addEventListener("install", function (event) {
  event.waitUntil(
    caches.open(NAME).then(function (kept) {
      return kept.addAll(KEEP.assets.concat([KEEP.page]));
    }).then(function () { return self.skipWaiting(); })
  );
});

self.addEventListener("activate", function (event) {
  event.waitUntil(
    caches.keys().then(function (names) {
      const old = names.filter(function (name) {
        return name.startsWith("tickover " + KEEP.page + " ") && name !== NAME;
      });
      return Promise.all(old.map(function (name) { return caches.delete(name); }));
    }).then(function () { return self.clients.claim(); })
  );
});

async function fromBench(request) {
  const kept = await caches.open(NAME);
  const stop = new AbortController();
  const timer = setTimeout(function () { stop.abort(); }, PATIENCE);
  try {
    const answer = await fetch(request.url, { signal: stop.signal, credentials: "same-origin" });
    if (answer.ok && !answer.redirected) await kept.put(KEEP.page, answer.clone());
    return answer;
  } catch (gone) {
    const before = await kept.match(KEEP.page);
    if (before) return before;
    throw gone;
  } finally {
    clearTimeout(timer);
  }
}

async function fromHere(request) {
  const kept = await caches.open(NAME);
  return (await kept.match(request)) || fetch(request);
}

self.addEventListener("fetch", function (event) {
  const request = event.request;
  const path = new URL(request.url).pathname;
  if (request.method !== "GET") return; // touches go their own way
  if (request.mode === "navigate" && path === KEEP.page) event.respondWith(fromBench(request));
  else if (KEEP.assets.includes(path)) event.respondWith(fromHere(request));
});
