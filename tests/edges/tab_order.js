// Every link, button and field of this page in its order, as the Tab key has to meet them.
() => {
  const wanted = Array.from(document.querySelectorAll(
    'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex="0"]'))
    .filter(e => e.checkVisibility({ checkVisibilityCSS: true }) && !e.disabled);
  // a part of a drawing may show the focus on what is drawn in it
  window.looksOf = e => [e, ...(e.closest('svg') ? e.querySelectorAll('*') : [])].map(part => {
    const s = getComputedStyle(part);
    return [s.outlineStyle, s.outlineWidth, s.outlineColor, s.boxShadow, s.borderColor, s.stroke,
      s.strokeWidth, s.fill].join(' ');
  }).join('; ');
  const radios = new Set();
  return wanted.filter(e => {
    if (e.type !== 'radio') return true;
    // the keyboard meets a group of radio buttons once, at the one chosen or the first
    const group = (e.form ? e.form.action : '') + e.name + Array.from(document.forms).indexOf(e.form);
    const chosen = document.querySelector(`input[type=radio][name="${e.name}"]:checked`);
    const inForm = Array.from(e.form ? e.form.elements : []).filter(o => o.name === e.name && o.checked);
    if (radios.has(group)) return false;
    if (inForm.length ? inForm[0] !== e : chosen && !e.form) return false;
    radios.add(group);
    return true;
  }).map((e, i) => {
    e.dataset.met = i;
    e.dataset.looks = window.looksOf(e);
    return e.tagName + ' ' + (e.getAttribute('aria-label') || e.textContent || e.id).trim().slice(0, 50);
  });
}
