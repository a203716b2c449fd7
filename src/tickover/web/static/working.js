// Two things a slow or interrupted bench asks for. A form that was sent says so after a moment,
// to eye and ear. What is typed and not answered yet is still there when somebody comes back, under
// the number of its press: sent again with the same words it is the same press, and kept once.
"use strict";
(function () {
  const PATIENCE = 700; // [ms]; what is quicker needs no word
  const KEY = "typed " + location.pathname;

  // -- being sent -----------------------------------------------------------------------------

  function begin(form) {
    if (form.tickoverSent) return;
    form.tickoverSent = true;
    form.tickoverTimer = setTimeout(function () {
      const line = document.createElement("p");
      line.className = "working";
      line.setAttribute("role", "status");
      form.append(line);
      line.textContent = "Working…"; // put in once the line stands, so that it is read out
    }, PATIENCE);
  }
  function end(form) {
    clearTimeout(form.tickoverTimer);
    form.tickoverSent = false;
    form.querySelectorAll(".working").forEach(function (line) { line.remove(); });
  }
  document.addEventListener("submit", function (event) {
    if (!event.defaultPrevented || event.target.hasAttribute("hx-post")) begin(event.target);
  });
  document.addEventListener("htmx:afterRequest", function (event) {
    const form = event.target instanceof Element ? event.target.closest("form") : null;
    if (form) end(form);
  });
  window.addEventListener("pageshow", function () { // back from where it led
    document.querySelectorAll("form").forEach(end);
  });

  // -- typed, not answered --------------------------------------------------------------------

  function fields() {
    return Array.from(document.querySelectorAll(
      "form[method=post] input[type=text], form[method=post] textarea"
    ));
  }
  function name(field) {
    const same = fields().filter(function (other) { return other.id === field.id; });
    return field.form.getAttribute("action").split("#")[0] + " " + field.name + " " + field.id +
      " " + same.indexOf(field);
  }
  window.addEventListener("pagehide", function () {
    const typed = fields().filter(function (field) {
      // a form sent by the browser itself leaves because its answer is here
      const answered = field.form.tickoverSent && !field.form.hasAttribute("hx-post");
      return field.value !== field.defaultValue && !answered;
    }).map(function (field) {
      const press = field.form.querySelector("input[name=once]");
      return [name(field), [field.value, press ? press.value : ""]];
    });
    try {
      if (typed.length) sessionStorage.setItem(KEY, JSON.stringify(typed));
      else sessionStorage.removeItem(KEY);
    } catch (error) { // this browser keeps nothing, as it was asked to
      return;
    }
  });
  function bringBack() {
    let typed = new Map();
    try {
      typed = new Map(JSON.parse(sessionStorage.getItem(KEY) || "[]"));
      sessionStorage.removeItem(KEY);
    } catch (error) {
      return;
    }
    fields().forEach(function (field) {
      const before = typed.get(name(field));
      if (before === undefined || field.value !== field.defaultValue) return;
      field.value = before[0];
      const press = field.form.querySelector("input[name=once]");
      if (press && before[1]) press.value = before[1];
      for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) {
        fold.open = true;
      }
    });
  }
  // a refused form says itself what was typed
  if (!document.querySelector("[aria-invalid=true]")) bringBack();
})();
