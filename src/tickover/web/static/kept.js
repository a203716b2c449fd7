// What the outbox and the stopwatch share: a store on this phone for what the bench has not got
// yet, names for it, and asking with patience.
"use strict";
window.tickover = (function () {
  function answered(request) {
    return new Promise(function (yes, no) {
      request.onsuccess = function () { yes(request.result); };
      request.onerror = function () { no(request.error); };
    });
  }
  // stores: what each is called, and the field its rows are told apart by. Rows under "order" are
  // numbered as they come, whichever window they come from.
  function keeping(name, stores) {
    const asked = indexedDB.open(name, 1);
    asked.onupgradeneeded = function () {
      Object.entries(stores).forEach(function (each) {
        const key = { keyPath: each[1], autoIncrement: each[1] === "order" };
        asked.result.createObjectStore(each[0], key);
      });
    };
    const opening = answered(asked);
    // resolves when it is on the disk of the phone, not before
    async function write(store, change) {
      const database = await opening;
      return new Promise(function (yes, no) {
        const work = database.transaction(store, "readwrite", { durability: "strict" });
        change(work.objectStore(store));
        work.oncomplete = function () { yes(); };
        work.onabort = work.onerror = function () { no(work.error); };
      });
    }
    async function read(store, ask) {
      const database = await opening;
      return answered(ask(database.transaction(store).objectStore(store)));
    }
    function all(store) {
      return read(store, function (rows) { return rows.getAll(); });
    }
    return { write: write, read: read, all: all };
  }
  function newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return Array.from(bytes, function (b) { return b.toString(16).padStart(2, "0"); }).join("");
  }
  async function call(path, patience, how) {
    const stop = new AbortController();
    const timer = setTimeout(function () { stop.abort(); }, patience);
    try {
      return await fetch(path, Object.assign({ cache: "no-store", credentials: "same-origin",
        signal: stop.signal }, how));
    } finally {
      clearTimeout(timer);
    }
  }
  function parsed(text) {
    return new DOMParser().parseFromString(text, "text/html");
  }
  // a page opened long ago, or without a connection, may hold the token of an older visit
  async function freshToken(path, patience) {
    const answer = await call(path, patience, {});
    const field = parsed(await answer.text()).querySelector("input[name=token]");
    return answer.ok && field ? field.value : "";
  }
  return { keeping: keeping, newId: newId, call: call, parsed: parsed, freshToken: freshToken };
})();
