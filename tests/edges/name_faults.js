// What somebody who hears this page would miss, in words; [] where nothing is missed.
() => {
  const wrong = [];
  const seen = e => e.checkVisibility({ checkVisibilityCSS: true }) && !e.closest('[aria-hidden=true]');
  const by = ids => ids.split(' ').map(id => document.getElementById(id))
    .map(e => e ? e.textContent : '').join(' ');
  const tidy = text => text.replace(/\s+/g, ' ').trim();
  const name = e => tidy(
    e.hasAttribute('aria-labelledby') ? by(e.getAttribute('aria-labelledby'))
      : e.getAttribute('aria-label')
      || (e.labels && Array.from(e.labels).map(l => l.textContent).join(' '))
      || e.textContent + ' ' + Array.from(e.querySelectorAll('[alt], [aria-label]'))
        .map(i => i.getAttribute('alt') || i.getAttribute('aria-label')).join(' '));
  // what is read out before a field or button: the group it stands in
  const group = e => {
    const set = e.closest('fieldset, [role=group], nav');
    if (!set) return '';
    return set.tagName === 'FIELDSET' ? tidy((set.querySelector('legend') || set).textContent) : name(set);
  };
  const all = what => Array.from(document.querySelectorAll(what)).filter(seen);
  const doubles = (what, key, words) => {
    const found = new Map();
    for (const e of what) {
      const heard = name(e);
      if (!heard) wrong.push(`${words} without a name: ${e.outerHTML.slice(0, 100)}`);
      const whole = tidy(group(e) + ': ' + heard);
      if (found.has(whole) && found.get(whole) !== key(e)) wrong.push(`two ${words}s are called "${whole}"`);
      found.set(whole, key(e));
    }
  };
  doubles(all('button'), e => e, 'button');
  doubles(all('summary'), e => e, 'fold');
  doubles(all('input:not([type=hidden]), select, textarea'), e => e, 'field');
  doubles(all('a[href]'), e => e.getAttribute('href').replace(/#.*/, ''), 'link');
  let level = 0;
  for (const head of all('h1, h2, h3, h4, h5, h6')) {
    const now = Number(head.tagName[1]);
    if (now > level + 1) wrong.push(`heading "${tidy(head.textContent)}" skips from ${level} to ${now}`);
    level = now;
  }
  for (const [what, words] of [['main', 'main'], ['header', 'head'], ['footer', 'foot']]) {
    if (all(`${what}:not(main *, article *)`).length !== 1) wrong.push(`not one ${words} on the page`);
  }
  const marks = all('nav, aside').map(name);
  if (marks.some(m => !m) || new Set(marks).size !== marks.length) wrong.push(`landmarks are called ${marks}`);
  for (const table of all('table')) {
    if (!table.caption || !tidy(table.caption.textContent)) wrong.push(`table without a caption: ${tidy(table.textContent).slice(0, 60)}`);
    if (!table.querySelector('th[scope]')) wrong.push(`table without header cells: ${tidy(table.textContent).slice(0, 60)}`);
    for (const row of table.querySelectorAll('tbody tr')) {
      if (row.cells.length > 1 && !row.querySelector('th')) {
        wrong.push(`table row without a header cell: ${tidy(row.textContent).slice(0, 60)}`);
      }
    }
  }
  for (const svg of document.querySelectorAll('svg')) {
    if (svg.closest('[aria-hidden=true]') || !seen(svg)) continue;
    const told = svg.querySelector(':scope > title');
    const heard = tidy(svg.hasAttribute('aria-labelledby') ? by(svg.getAttribute('aria-labelledby'))
      : svg.getAttribute('aria-label') || (told ? told.textContent : ''));
    // a drawing whose parts can be pressed is a group of links
    const role = svg.querySelector('a') ? 'group' : 'img';
    if (svg.getAttribute('role') !== role || !heard) wrong.push(`picture without a name: ${svg.outerHTML.slice(0, 120)}`);
  }
  // what a drawing shows is said in its name, or stands beside it in words, as a list or a table
  for (const svg of all('svg[role=img]')) {
    const part = svg.closest('figure, section, .left, main');
    const words = Array.from(part.querySelectorAll('p, li, th, td, dd, pre, caption, figcaption'))
      .filter(e => !svg.contains(e)).map(e => e.textContent).join(' ');
    const told = tidy(svg.getAttribute('aria-label') || '');
    if (told.length < 40 && tidy(words).length < 20) {
      wrong.push(`drawing without its words: ${svg.outerHTML.slice(0, 120)}`);
    }
  }
  for (const img of all('img')) if (!img.getAttribute('alt')) wrong.push(`photograph without words: ${img.src}`);
  return wrong;
}
