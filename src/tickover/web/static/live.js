// A page that stays open looks every few seconds whether somebody else wrote in the book. Where
// nothing is being typed it draws itself anew; else it says so and leaves the hands alone.
"use strict";
(function () {
  const EVERY = 3000; // [ms]
  const news = document.getElementById("news");
  if (!news || !window.htmx) return;

  function card() {
    return document.getElementById("card");
  }
  function changed(field) {
    if (field.type === "hidden") return false;
    if (field.type === "checkbox" || field.type === "radio") {
      return field.checked !== field.defaultChecked;
    }
    if (field.tagName === "SELECT") {
      return Array.from(field.options).some(function (o) { return o.selected !== o.defaultSelected; })
        && field.selectedIndex > 0;
    }
    return field.value !== field.defaultValue;
  }
  // what a redrawn page would take away: typed text, a refusal, an open fold, a running clock
  function inUse() {
    const at = document.activeElement;
    return Boolean(
      (at && at !== document.body && at.id !== "main" && card().contains(at)) ||
      card().querySelector("[aria-invalid=true], .refused, details[open], [data-busy]") ||
      Array.from(card().querySelectorAll("input, select, textarea")).some(changed)
    );
  }
  function here() {
    return location.pathname + location.search;
  }
  function sends() {
    return document.querySelector("form.htmx-request");
  }
  let drawing = null; // which page was asked for, and how many entries are new to it
  async function redraw(unasked) {
    news.hidden = true;
    drawing = { page: here(), unasked: unasked };
    await window.htmx.ajax("GET", drawing.page, {
      source: news, target: "#card", select: "#card", swap: "outerHTML show:none",
    });
  }
  // The answer takes as long as the line does. What somebody began meanwhile is not taken away, and
  // a page that was left meanwhile does not come back.
  news.addEventListener("htmx:beforeOnLoad", function (event) {
    if (drawing.page !== here() || sends()) event.preventDefault();
    else if (drawing.unasked && inUse()) {
      event.preventDefault();
      tell(drawing.unasked);
    }
  });
  function tell(count) {
    news.textContent = (count === 1 ? "One new entry" : count + " new entries") + " in the book. ";
    const look = document.createElement("button");
    look.type = "button";
    look.className = "second slim";
    look.textContent = "Draw this page anew";
    look.addEventListener("click", function () {
      redraw(0).catch(function () { news.hidden = false; }); // no connection: it can be pressed again
    });
    news.append(look);
    news.hidden = false;
  }
  let asking = false;
  async function ask() {
    const where = card() && card().dataset.live;
    // the stopwatch tells its own entries, and nothing may move under the finger there
    if (!where || asking || document.hidden || document.getElementById("touches")) return;
    asking = true;
    try {
      const answer = await fetch(where, { cache: "no-store", credentials: "same-origin",
        redirect: "error" });
      const last = answer.ok ? (await answer.json()).last : 0;
      const seen = Number(card().dataset.last);
      if (card().dataset.live !== where || last <= seen) news.hidden = true;
      else if (sends()) return; // its answer brings the page as it is then
      else if (inUse()) tell(last - seen);
      else await redraw(last - seen);
    } catch (gone) {
      // no connection: the next look tells; what is typed goes to the outbox
    } finally {
      asking = false;
    }
  }
  setInterval(ask, EVERY);
  document.addEventListener("visibilitychange", ask);
  document.addEventListener("tickover:sent", ask);
})();
