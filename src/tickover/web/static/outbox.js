// What is written while the bench does not answer is kept on this phone and sent later: once, in
// the order it was written. Each form carries its number along; the book keeps a number once, so a
// form whose answer was lost may be sent again.
"use strict";
(function () {
  const box = document.getElementById("outbox");
  if (!box || !window.indexedDB) return; // then a form that cannot be sent stays filled in
  const PATIENCE = 30000; // [ms]
  const MOST = 20e6; // of all files that wait here together, so that the phone has room [bytes]
  const BUILD = /^\/builds\/[^/]+/;

  // -- kept on this phone ---------------------------------------------------------------------

  const phone = window.tickover.keeping("tickover-outbox", { forms: "order" });
  function change(work) {
    return phone.write("forms", work);
  }
  function kept() {
    return phone.all("forms");
  }

  function weight(rows) {
    let bytes = 0;
    rows.forEach(function (row) {
      (row.files || []).forEach(function (file) { bytes += file[1].byteLength; });
    });
    return bytes;
  }

  // -- a form is sent -------------------------------------------------------------------------

  function typed(form) {
    return Array.from(form.querySelectorAll("input, select, textarea")).filter(function (field) {
      return field.type !== "hidden" && field.value &&
        (!/checkbox|radio/.test(field.type) || field.checked);
    }).map(function (field) {
      const words = field.labels && field.labels[0] ? field.labels[0].textContent.trim() : "";
      return /checkbox|radio/.test(field.type) ? words : field.value;
    }).join(", ");
  }
  async function keep(event) {
    const sent = event.detail.requestConfig;
    const form = sent.elt && sent.elt.closest("form");
    if (!form || sent.verb !== "post" || !BUILD.test(sent.path)) return;
    const fields = [];
    const chosen = [];
    new FormData(form).forEach(function (value, name) {
      if (typeof value !== "string") {
        if (value.size) chosen.push([name, value]);
      } else if (name !== "token") fields.push([name, value]);
    });
    const by = sent.triggeringEvent && sent.triggeringEvent.submitter;
    if (by && by.name) fields.push([by.name, by.value]);
    const button = by || form.querySelector("button");
    const row = { path: sent.path, at: new Date().toISOString(), fields: fields,
      files: [],
      words: (button ? button.textContent.trim() : "Write") + ": " + (typed(form) || "nothing typed"),
      why: "" };
    try {
      let bytes = weight(await kept());
      chosen.forEach(function (each) { bytes += each[1].size; });
      if (bytes > MOST) {
        draw("The bench does not answer, and what is chosen is too large to be kept on this phone " +
          "with what waits already. It is still chosen: leave the page open and press again.");
        return;
      }
      for (const each of chosen) { // its bytes: what a camera hands over may be gone tomorrow
        row.files.push([each[0], await each[1].arrayBuffer(), each[1].name, each[1].type]);
      }
      await change(function (store) { store.add(row); });
    } catch (error) {
      draw("This phone keeps nothing, or not a file of this size: leave the page open and press " +
        "again when the bench answers.");
      return;
    }
    form.reset();
    form.querySelectorAll("input[name=once]").forEach(function (field) {
      field.value = window.tickover.newId(); // what is written next on this page is another thing
    });
    trouble = "The bench does not answer";
    await draw();
    box.scrollIntoView({ block: "nearest" });
    later();
  }
  document.addEventListener("htmx:sendError", keep);
  document.addEventListener("htmx:timeout", keep);

  // -- and sent again -------------------------------------------------------------------------

  let trouble = "";
  let token = "";
  let sending = false;
  let wait = 1000;
  let timer = 0;

  async function post(row) {
    const files = row.files || []; // rows of an older page have none
    const body = files.length ? new FormData() : new URLSearchParams();
    row.fields.forEach(function (field) { body.append(field[0], field[1]); });
    files.forEach(function (file) {
      body.append(file[0], new File([file[1]], file[2], { type: file[3] }));
    });
    body.set("token", token);
    body.set("written", row.at);
    return window.tickover.call(row.path, PATIENCE, { method: "POST", body: body });
  }
  // "": it is settled; else why it has to wait
  async function settle(row) {
    if (/\/quick$/.test(row.path)) { // a line is looked at before it is kept
      row.why = "look at it first";
      const line = row.fields.find(function (f) { return f[0] === "line"; });
      row.look = row.path + "?" + new URLSearchParams({ line: line ? line[1] : "" });
      await change(function (store) { store.put(row); });
      return "";
    }
    if (!token) token = await window.tickover.freshToken("/", PATIENCE);
    let answer = await post(row);
    if (answer.status === 403) {
      token = await window.tickover.freshToken("/", PATIENCE);
      answer = await post(row);
    }
    if (answer.status === 401) return "This phone is not paired any more";
    if (answer.status >= 500) return "The bench answers " + answer.status;
    if (answer.ok) {
      await change(function (store) { store.delete(row.order); });
      return "";
    }
    const told = window.tickover.parsed(await answer.text());
    const wrong = told.querySelector(".wrong p") || told.querySelector(".verdict");
    row.why = wrong ? wrong.textContent.trim() : "the bench answers " + answer.status;
    await change(function (store) { store.put(row); });
    return "";
  }
  async function send() {
    if (sending) return;
    sending = true;
    clearTimeout(timer);
    let sent = 0;
    trouble = "";
    try {
      for (const row of await kept()) {
        if (row.why) continue;
        trouble = await settle(row);
        if (trouble) break;
        sent += 1;
      }
    } catch (gone) {
      trouble = "The bench does not answer";
    }
    sending = false;
    await draw();
    if (sent) document.dispatchEvent(new CustomEvent("tickover:sent"));
    if (trouble) later();
    else wait = 1000;
  }
  function later() {
    clearTimeout(timer);
    wait = Math.min(wait * 1.6, 15000);
    timer = setTimeout(send, wait);
  }

  // -- what is shown --------------------------------------------------------------------------

  function add(kind, words, inside) {
    const made = document.createElement(kind);
    made.textContent = words;
    inside.append(made);
    return made;
  }
  async function draw(losing) {
    const rows = losing ? [] : await kept().catch(function () { return []; });
    box.textContent = "";
    box.hidden = !rows.length && !losing;
    if (losing) add("p", losing, box);
    const waiting = rows.filter(function (row) { return !row.why; });
    if (waiting.length) {
      add("p", "Kept on this phone, not sent yet: " + waiting.length + ". " +
        (trouble ? trouble + "; it goes by itself when it does." : ""), box);
    }
    if (!rows.length) return;
    const list = add("ul", "", box);
    list.className = "bare";
    rows.forEach(function (row) {
      const line = add("li", row.words + (row.why ? ". Not kept: " + row.why + " " : ""), list);
      if (!row.why) return;
      if (row.look) {
        const look = add("a", "Look at it", line);
        look.href = row.look;
        look.className = "line";
      }
      const away = add("button", "Throw it away", line);
      away.type = "button";
      away.className = "second slim";
      away.addEventListener("click", async function () {
        await change(function (store) { store.delete(row.order); });
        draw();
      });
    });
  }
  // A line is let go only once the page that asks about it stands: on the way there it could be
  // lost with the connection, and a page that is left does not wait for the phone's disk.
  async function looked() {
    const here = location.pathname + location.search;
    const rows = (await kept().catch(function () { return []; })).filter(function (row) {
      return row.look === here;
    });
    if (!rows.length) return;
    await change(function (store) { rows.forEach(function (row) { store.delete(row.order); }); });
    await draw();
  }
  window.addEventListener("online", send);
  document.addEventListener("visibilitychange", function () { if (!document.hidden) send(); });
  looked().then(send);
})();
