() => Array.from(
    document.querySelectorAll('a, button, input, select, textarea, summary')
  ).filter(e => e.type !== 'hidden' && !e.classList.contains('skip')).map(e => {
    const box = e.closest('.choice') || e;
    const r = box.getBoundingClientRect();
    return [e, r];
  }).filter(([e, r]) => r.width > 0 && (r.width < 47.5 || r.height < 47.5))
  .map(([e, r]) => e.tagName + ' ' + (e.getAttribute('aria-label') || e.textContent).trim()
    + ': ' + r.width.toFixed(1) + ' x ' + r.height.toFixed(1))
