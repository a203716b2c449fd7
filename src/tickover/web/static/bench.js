// The page is complete without this. With it: Enter goes to the next field and sends on the
// last, as gauges with a keyboard output expect; a swapped form puts the hands where they belong.
"use strict";
(function () {
  // what can be seen and typed into; a folded part is passed over
  function fields(form) {
    return Array.from(form.querySelectorAll("input, select")).filter(function (field) {
      return (
        field.type !== "hidden" && field.type !== "checkbox" && field.type !== "radio" &&
        field.type !== "file" && !field.disabled && !field.closest("details:not([open])")
      );
    });
  }
  document.addEventListener("keydown", function (event) {
    const field = event.target;
    if (event.key !== "Enter" || event.isComposing || !(field instanceof HTMLInputElement)) return;
    const form = field.closest("form[data-enter]");
    if (!form) return;
    const all = fields(form);
    const next = all[all.indexOf(field) + 1];
    if (all.indexOf(field) < 0 || !next) return; // the last one sends, as browsers do
    event.preventDefault();
    next.focus();
    if (next.select) next.select();
  });
  // A form whose answer is another page, or another check, brings it from its top, as a link does;
  // on its own page the finger stays where it was. Either way the keyboard goes on inside the page.
  function page() {
    const head = document.querySelector("h1");
    const at = window.location;
    return { path: at.pathname, asked: at.search, head: head ? head.textContent : "" };
  }
  function inSight(field) {
    const box = field.getBoundingClientRect();
    return box.top >= 0 && box.bottom <= window.innerHeight;
  }
  let before = page();
  document.addEventListener("htmx:afterSettle", function () {
    const now = page();
    const another = now.path !== before.path ||
      (now.asked !== before.asked && now.head !== before.head);
    before = now;
    if (another) window.scrollTo(0, 0);
    const wrong = document.querySelector('[aria-invalid="true"]');
    if (wrong) {
      wrong.focus();
      if (wrong.select) wrong.select();
    } else if (document.activeElement === document.body) {
      const field = document.querySelector("#card [autofocus]");
      const next = field && (!another || inSight(field)) ? field : document.getElementById("main");
      next.focus({ preventScroll: true });
    }
  });
})();
