// What a person would see go wrong in the layout of this page, in words; [] where nothing does.
() => {
  const wide = document.documentElement.clientWidth;
  const wrong = [];
  const said = e => e.tagName.toLowerCase() + (e.className && e.className.baseVal === undefined
    ? '.' + String(e.className).replace(/ /g, '.') : '')
    + ' "' + (e.getAttribute('aria-label') || e.textContent).trim().slice(0, 60) + '"';
  if (document.documentElement.scrollWidth > wide) wrong.push('wider than the screen');
  const seen = e => e.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true });
  const apart = e => e.closest('.unseen, .skip, [aria-hidden=true]');
  const scrolls = e => {
    for (let up = e.parentElement; up; up = up.parentElement) {
      if (/auto|scroll/.test(getComputedStyle(up).overflowX)) return true;
    }
    return false;
  };
  for (const e of document.querySelectorAll('body *')) {
    if (!seen(e) || apart(e) || e.closest('svg svg, svg *')) continue;
    const r = e.getBoundingClientRect();
    if (r.width && (r.right > wide + 1 || r.left < -1) && !scrolls(e)) {
      wrong.push(`${said(e)} reaches out of the screen: ${r.left.toFixed(0)} to ${r.right.toFixed(0)}`);
    }
    const style = getComputedStyle(e);
    const own = Array.from(e.childNodes).some(n => n.nodeType === 3 && n.textContent.trim());
    if (own && /hidden|clip/.test(style.overflowX) && e.scrollWidth > e.clientWidth + 1) {
      wrong.push(`${said(e)} is cut off`);
    }
    if (e.matches('select, input:not([type=hidden], [type=checkbox], [type=radio], [type=file])')
        && e.scrollWidth > e.clientWidth + 1 && e.value) wrong.push(`${said(e)} shows half its value`);
  }
  const pressed = Array.from(document.querySelectorAll(
    'a, button, input:not([type=hidden]), select, textarea, summary'))
    .filter(e => seen(e) && !apart(e) && !e.closest('svg')) // a drawing's parts lie in each other
    .map(e => [e, e.getBoundingClientRect()])
    .filter(([, r]) => r.width > 0);
  pressed.forEach(([a, r], i) => pressed.slice(i + 1).forEach(([b, q]) => {
    const x = Math.min(r.right, q.right) - Math.max(r.left, q.left);
    const y = Math.min(r.bottom, q.bottom) - Math.max(r.top, q.top);
    if (x > 2 && y > 2 && !a.contains(b) && !b.contains(a)) wrong.push(`${said(a)} covers ${said(b)}`);
  }));
  for (const e of document.querySelectorAll('p, li, dd, caption, figcaption')) {
    if (!seen(e) || apart(e) || e.querySelector('p, ul, ol, a, button, div, svg')) continue;
    const words = document.createRange();
    words.selectNodeContents(e);
    const rows = new Set(Array.from(words.getClientRects()).map(r => Math.round(r.bottom / 8)));
    const each = e.textContent.trim().length / Math.max(rows.size, 1);
    if (each > 84) wrong.push(`${said(e)} has lines of ${each.toFixed(0)} characters`);
  }
  return wrong;
}
