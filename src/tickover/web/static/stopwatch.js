// The stopwatch. Each touch is written down on this phone first, under an id made here, and sent
// when there is a connection; the book keeps an id once, so sending again doubles nothing.
"use strict";
(function () {
  const form = document.getElementById("touches");
  if (!form || !window.indexedDB) return; // then the plain form does it
  const BUILD = form.dataset.build;
  const LIMIT = {
    crank: Number(form.dataset.crank), rest: Number(form.dataset.rest),
    oil: Number(form.dataset.oil), run: Number(form.dataset.run),
  };
  const LONGEST = 24 * 3600; // a stopwatch that ran longer was forgotten [s]
  const AT_ONCE = 100; // touches in one sending
  const PATIENCE = 10000; // [ms]
  const FIRED = ["fired", "ran"];
  const OVER = ["coughed", "spat-back", "nothing", "stalled", "stopped"];
  const buttons = new Map();
  form.querySelectorAll("button[data-kind]").forEach(function (button) {
    buttons.set(button.value, {
      words: button.textContent.trim(), then: button.dataset.then,
      stop: button.dataset.stop === "yes",
    });
  });
  const at = function (id) { return document.getElementById(id); };

  // -- kept on this phone ---------------------------------------------------------------------

  const phone = window.tickover.keeping("tickover-stopwatch", {
    touches: "order", attempts: "build",
  });

  // -- the attempt under way ------------------------------------------------------------------

  // {build, attempt, pressed [ms], touches: [{id, what, words, seconds, note, state, number, why}]}
  let attempt = null;
  let waiting = 0; // touches not sent yet
  let trouble = ""; // why they are not
  let losing = ""; // set when this browser refuses to keep anything

  function sincePressed() {
    return Math.min(Math.max((Date.now() - attempt.pressed) / 1000, 0), LONGEST);
  }
  function keepAttempt() {
    const copy = JSON.parse(JSON.stringify(attempt));
    return phone.write("attempts", function (store) { return store.put(copy); });
  }
  function notKept(error) {
    losing = "This browser keeps nothing (" + ((error && error.name) || "no reason given") +
      "): write it on paper, or leave the page open until it is sent";
    draw();
  }

  async function press() {
    attempt = { build: BUILD, attempt: window.tickover.newId(), pressed: Date.now(), touches: [] };
    draw();
    try { await keepAttempt(); } catch (error) { notKept(error); }
  }

  const unkept = []; // touches this browser would not keep; sent from here while the page is open
  async function touch(what) {
    let note = at("note").value.trim();
    if (!attempt || sincePressed() >= LONGEST) {
      attempt = { build: BUILD, attempt: window.tickover.newId(), pressed: Date.now(), touches: [] };
      note = (note ? note + "; " : "") + "the clock was not started";
    }
    const seconds = Math.round(sincePressed() * 100) / 100;
    const posted = { id: window.tickover.newId(), attempt: attempt.attempt, what: what, seconds: seconds,
      at: new Date().toISOString(), note: note };
    const shown = { id: posted.id, what: what, words: buttons.get(what).words, seconds: seconds,
      note: note, state: "here", number: 0, why: "" };
    attempt.touches.push(shown);
    at("note").value = "";
    draw();
    try {
      await phone.write("touches", function (store) { return store.add({ build: BUILD, posted: posted }); });
      await keepAttempt();
    } catch (error) {
      unkept.push({ build: BUILD, posted: posted });
      notKept(error);
    }
    await count();
    send();
  }

  // -- sending --------------------------------------------------------------------------------

  let token = form.elements.token.value;
  let sending = false;
  let again = 0;

  async function count() {
    const kept = await phone.all("touches").catch(function () { return []; });
    waiting = kept.length + unkept.length;
    draw();
  }
  async function freshToken() {
    const found = await window.tickover.freshToken(form.dataset.page, PATIENCE);
    const changed = Boolean(found) && found !== token;
    token = found || token;
    return changed;
  }
  function post(build, posted) {
    return window.tickover.call(build + "/observations", PATIENCE, {
      method: "POST", body: JSON.stringify(posted),
      headers: { "content-type": "application/json", "tickover-token": token },
    });
  }
  async function sendSome() {
    const queue = (await phone.all("touches").catch(function () { return []; })).concat(unkept);
    if (!queue.length) return "";
    const build = queue[0].build;
    const batch = [];
    for (const row of queue) {
      if (row.build !== build || batch.length === AT_ONCE) break;
      batch.push(row);
    }
    const posted = batch.map(function (row) { return row.posted; });
    let answer = await post(build, posted);
    if (answer.status === 403 && (await freshToken())) answer = await post(build, posted);
    if (answer.status === 404) return "This build is no longer in the book";
    if (!answer.ok) return "The bench answers " + answer.status;
    const told = (await answer.json()).answers;
    const by = new Map(told.map(function (each) { return [each.id, each]; }));
    for (const row of batch) {
      const said = by.get(row.posted.id);
      if (said) await settle(row, said);
    }
    if (!batch.some(function (row) { return by.has(row.posted.id); })) return "The bench says nothing";
    return "more";
  }
  async function settle(row, said) {
    if (row.order) await phone.write("touches", function (store) { store.delete(row.order); });
    else unkept.splice(unkept.indexOf(row), 1);
    const running = await phone.read("attempts", function (store) { return store.get(row.build); })
      .catch(function () { return null; });
    const own = attempt && attempt.attempt === row.posted.attempt ? attempt : null;
    [own, running].forEach(function (each) {
      const shown = each && each.touches.find(function (t) { return t.id === row.posted.id; });
      if (!shown) return;
      shown.state = said.refused ? "refused" : "book";
      shown.number = said.kept || 0;
      shown.why = said.refused || "";
    });
    if (said.refused && !own) refused.push(row.posted.what + ": " + said.refused);
    if (own) await keepAttempt().catch(notKept);
    else if (running) await phone.write("attempts", function (store) { return store.put(running); });
  }
  const refused = []; // of earlier attempts
  async function send() {
    if (sending) { again = Math.max(again, 1); return; }
    sending = true;
    clearTimeout(send.timer);
    let said = "more";
    try {
      while (said === "more") said = await sendSome();
      trouble = said;
    } catch (gone) { // no connection, or its answer was lost: the same ids go again
      trouble = "No connection";
    }
    sending = false;
    await count();
    if (waiting) {
      send.wait = Math.min((send.wait || 1000) * 1.6, 15000);
      send.timer = setTimeout(send, again ? 50 : send.wait);
    } else {
      send.wait = 1000;
      trouble = "";
    }
    again = 0;
  }

  // -- what the clock says --------------------------------------------------------------------

  function said(seconds) {
    const left = Math.max(seconds, 0);
    if (left < 60) return left.toFixed(1) + " s";
    const whole = Math.ceil(left);
    return Math.floor(whole / 60) + ":" + String(whole % 60).padStart(2, "0");
  }
  function plain(seconds) {
    return seconds >= 120 && seconds % 60 === 0 ? seconds / 60 + " minutes" : seconds + " s";
  }
  // {what, time, next, marks: [words], alarm}
  function reading() {
    if (!attempt || sincePressed() >= LONGEST) {
      return { what: "Ready", time: 0, alarm: false, marks: [
        "Crank " + plain(LIMIT.crank) + ", rest " + plain(LIMIT.rest),
        "Oil in " + plain(LIMIT.oil) + ", first run " + plain(LIMIT.run),
      ], next: "Press the starter, and touch the button in the same moment." };
    }
    const now = sincePressed();
    const fired = attempt.touches.find(function (t) { return FIRED.includes(t.what); });
    const after = attempt.touches.filter(function (t) { return !fired || t.seconds >= fired.seconds; });
    const end = after.find(function (t) {
      return OVER.includes(t.what) || buttons.get(t.what).stop;
    });
    const oil = attempt.touches.find(function (t) { return t.what === "oil-out"; });
    const last = attempt.touches[attempt.touches.length - 1];
    const late = oil && fired && oil.seconds >= fired.seconds;
    const oilWords = oil && "Oil light out after " +
      said(late ? oil.seconds - fired.seconds : oil.seconds) + (late ? "" : " of cranking");
    if (end) {
      const rest = LIMIT.rest - (now - (fired ? fired.seconds : end.seconds));
      const stop = buttons.get(end.what);
      const marks = oilWords ? [oilWords] : [];
      marks.unshift(rest > 0 ? "Starter rests: " + said(rest) + " left"
        : "Starter has rested " + plain(LIMIT.rest));
      return { what: stop.words, time: end.seconds, alarm: false, marks: marks,
        next: stop.stop ? stop.then : rest > 0 ? stop.then
          : "Ready for another try. After five without a cough, ask why." };
    }
    if (fired) {
      const ran = now - fired.seconds;
      const left = LIMIT.run - ran;
      const oilLeft = LIMIT.oil - ran;
      const marks = [];
      let alarm = "";
      if (oilWords) marks.push(oilWords);
      else if (oilLeft > 0) marks.push("Oil light out within " + said(oilLeft));
      else alarm = "No oil after " + plain(LIMIT.oil) + ": stop the engine";
      if (left > 0) marks.push("Stop to cool in " + said(left));
      else alarm = alarm || "Time is up: stop, let it get quite cold";
      return { what: "It runs", time: ran, marks: marks, alarm: Boolean(alarm),
        next: alarm || buttons.get(last.what).then };
    }
    const left = LIMIT.crank - now;
    if (left > 0) {
      return { what: "Cranking", time: now, alarm: false, marks: ["Let go in " + said(left)],
        next: "Touch what comes of it." };
    }
    return { what: "Let go", time: now, alarm: true, marks: [],
      next: plain(LIMIT.crank) + " of cranking are over. Let go, touch what came of it." };
  }

  // -- drawing --------------------------------------------------------------------------------

  function put(element, words) {
    if (element.textContent !== words) element.textContent = words;
  }
  let phase = "";
  function tick() {
    const now = reading();
    put(at("clock-what"), now.what);
    put(at("clock-time"), now.time.toFixed(1));
    put(at("clock-next"), now.next);
    const list = at("clock-marks");
    while (list.children.length > now.marks.length) list.lastChild.remove();
    now.marks.forEach(function (mark, n) {
      const line = list.children[n] || list.appendChild(document.createElement("li"));
      put(line, mark);
    });
    at("clock").classList.toggle("alarm", now.alarm);
    const key = now.what + (now.alarm ? now.next : "");
    if (key !== phase) {
      phase = key;
      put(at("clock-say"), now.what + ". " + now.next);
      if (now.alarm && navigator.vibrate) navigator.vibrate([400, 150, 400]);
    }
  }
  function draw() {
    tick();
    const line = at("unsent");
    const words = [];
    if (losing) words.push(losing + ".");
    if (waiting) {
      words.push("Kept here, not sent yet: " + waiting + "." + (trouble ? " " + trouble +
        "; it goes on by itself when the bench answers." : ""));
    }
    refused.forEach(function (why) { words.push("Not taken, " + why); });
    line.hidden = !words.length;
    put(line, words.join(" "));
    const shown = attempt ? attempt.touches : [];
    at("touched").hidden = !shown.length;
    const list = at("touched-list");
    while (list.children.length > shown.length) list.lastChild.remove();
    shown.forEach(function (each, n) {
      const row = list.children[n] || list.appendChild(document.createElement("li"));
      const state = { here: "kept here", book: "in the book, entry " + each.number,
        refused: "not taken: " + each.why }[each.state];
      put(row, each.seconds.toFixed(1) + " s  " + each.words +
        (each.note ? " (" + each.note + ")" : "") + ", " + state);
    });
  }

  // -- hands ----------------------------------------------------------------------------------

  document.body.classList.add("with-script");
  at("clock").hidden = false;
  form.addEventListener("submit", function (event) {
    event.preventDefault();
    const pressed = event.submitter;
    if (!pressed || pressed.name !== "what") return;
    if (pressed.value === "pressed") press();
    else touch(pressed.value);
    keepAwake();
  });
  // Enter in the words must not press the first button of the form, which is the starter
  at("note").addEventListener("keydown", function (event) {
    if (event.key === "Enter") event.preventDefault();
  });
  let awake = null;
  function keepAwake() {
    if (!navigator.wakeLock || awake) return;
    awake = navigator.wakeLock.request("screen").then(function (lock) {
      lock.addEventListener("release", function () { awake = null; });
    }, function () { awake = null; }); // low battery: the phone decides
  }
  window.addEventListener("online", send);
  document.addEventListener("visibilitychange", function () {
    if (document.visibilityState === "visible") send();
  });
  phone.read("attempts", function (store) { return store.get(BUILD); }).then(function (kept) {
    // a touch may have come in before this was read
    if (kept && !attempt && Date.now() - kept.pressed < LONGEST * 1000) attempt = kept;
  }).catch(notKept).then(send);
  setInterval(tick, 100);
  draw();
  if (navigator.serviceWorker) {
    navigator.serviceWorker.register(form.dataset.worker, { scope: form.dataset.page })
      .catch(function () { /* without it the page still works while it stays open */ });
  }
})();
