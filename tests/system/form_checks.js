// What is wrong with a page of forms: of the whole page its title, language, headings and the way back to the
// bench; of our own markup names, targets, contrast and texts cut. The framework's own parts are told apart
// (`theirs`). Ratios and sizes are those of WCAG 2.2 (1.4.3, 2.5.5), written from memory.
(() => {
  const OURS = '.plainhead, .choice, .verdictbox, .whatif, .chosen, .code, .photos, .entry, .list';
  const ours = [], theirs = [];
  const seen = e => e.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true });
  const called = e => `${e.tagName.toLowerCase()}.${(e.getAttribute('class') || '').split(' ')[0]}`;
  const all = [...document.body.querySelectorAll('*')].filter(seen);
  const told = (e, words) => (e.closest(OURS) ? ours : theirs).push(`${words}: ${called(e)} '${e.textContent.trim().slice(0, 30)}'`);
  const name = e => {
    const labelled = (e.getAttribute('aria-labelledby') || '').split(' ').map(id => document.getElementById(id)?.textContent);
    return [e.getAttribute('aria-label'), ...labelled, e.labels?.[0]?.textContent, e.getAttribute('alt'), e.textContent, e.title]
      .some(words => words?.trim());
  };
  if (!document.documentElement.lang) ours.push('no language');
  if (!document.title || document.title === 'Streamlit') ours.push('no title');
  const heads = all.filter(e => /^H[1-6]$/.test(e.tagName) && e.textContent.trim());
  const levels = heads.map(e => Number(e.tagName[1]));
  if (levels.filter(n => n === 1).length !== 1) ours.push(`${levels.filter(n => n === 1).length} headings of the first order`);
  levels.forEach((n, i) => { if (i && n > levels[i - 1] + 1) ours.push(`a heading skipped: '${heads[i].textContent}' is ${n}`) });
  const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
  for (const id of new Set(ids.filter((id, i) => id && ids.indexOf(id) !== i))) theirs.push(`an id twice: ${id}`);
  if (document.documentElement.scrollWidth > innerWidth + 1) ours.push('the page is wider than the screen');
  for (const e of all.filter(e => e.matches('a[href], button, input, textarea, select, summary, [role=button], [role=radio]'))) {
    const { width, height } = e.getBoundingClientRect();
    const inside = e.matches('input[type=radio], input[type=checkbox]') && e.closest('label');
    if (!inside && (width < 43.5 || height < 43.5)) told(e, `small target ${width | 0}×${height | 0}`);
    if (!name(e)) told(e, 'no name');
  }
  for (const e of all.filter(e => e.matches('img, [role=img], nav'))) if (!name(e) && e.getAttribute('aria-hidden') !== 'true') told(e, 'no name');
  const channel = c => (c /= 255) <= .04045 ? c / 12.92 : ((c + .055) / 1.055) ** 2.4;
  const canvas = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const colour = text => { // whatever way it is written
    canvas.clearRect(0, 0, 1, 1);
    canvas.fillStyle = text;
    canvas.fillRect(0, 0, 1, 1);
    const [r, g, b, a] = canvas.getImageData(0, 0, 1, 1).data;
    return [r, g, b, a / 255];
  };
  const light = ([r, g, b]) => .2126 * channel(r) + .7152 * channel(g) + .0722 * channel(b);
  const over = (top, below) => top.slice(0, 3).map((c, i) => c * top[3] + below[i] * (1 - top[3]));
  const ground = e => {
    for (let at = e; at; at = at.parentElement) {
      const c = colour(getComputedStyle(at).backgroundColor);
      if (c[3] > .9) return c;
    }
    return [255, 255, 255];
  };
  const faded = e => { let share = 1; for (let at = e; at; at = at.parentElement) share *= Number(getComputedStyle(at).opacity); return share };
  for (const e of all.filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()))) {
    const paper = ground(e), style = getComputedStyle(e);
    const ink = colour(e.closest('svg') ? style.fill : style.color);
    ink[3] *= faded(e);
    const [a, b] = [light(over(ink, paper)), light(paper)];
    const ratio = (Math.max(a, b) + .05) / (Math.min(a, b) + .05);
    if (ratio < 4.5 && !e.closest('[disabled]')) told(e, `contrast ${ratio.toFixed(2)}`);
    const { left, right } = e.getBoundingClientRect();
    if (left < -1 || right > innerWidth + 1) told(e, 'cut');
  }
  const back = [...document.querySelectorAll('nav a[href]')].some(a => ['/', '/bench'].includes(new URL(a.href).pathname));
  return { ours: [...new Set(ours)], theirs: [...new Set(theirs)], back };
})
