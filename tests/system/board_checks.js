// What is wrong with the live page as it stands: texts cut, texts over one another, too little contrast,
// targets too small, names and headings amiss. A list of sentences; empty when all is well.
// The ratios are those of WCAG 2.2 (1.4.3, 2.5.8), written from memory.
(({ seek, scrolls, layout, contrast }) => {
  const found = [];
  const board = seek('.board');
  const all = [...board.querySelectorAll('*')];
  const seen = e => e.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true });
  const called = e => `${e.tagName.toLowerCase()}.${e.getAttribute('class') || e.dataset?.id || ''}`;
  const textOf = e => [...e.childNodes].filter(n => n.nodeType === 3 && n.textContent.trim());
  const range = document.createRange();
  const rects = node => {
    const text = node.textContent;
    range.setStart(node, text.length - text.trimStart().length); // blanks around it are no ink
    range.setEnd(node, text.trimEnd().length);
    return [...range.getClientRects()];
  };
  const texts = all.filter(e => seen(e) && textOf(e).length);
  const scrolled = (e, r) => {
    const frame = e.closest('.queue, .cards, .scroll')?.getBoundingClientRect();
    return frame && (r.bottom > frame.bottom + 1 || r.top < frame.top - 1);
  };
  const lines = texts.flatMap(e => textOf(e).flatMap(n => rects(n).map(r => ({ e, r, t: n.textContent.trim() }))))
    .filter(({ e, r }) => !scrolled(e, r));

  if (layout) {
    for (const { e, r, t } of lines) {
      const past = scrolls ? 0 : r.bottom - innerHeight;
      if (r.left < -1 || r.right > innerWidth + 1 || past > 1) found.push(`cut: ${called(e)} '${t}'`);
    }
    for (const e of all.filter(seen)) {
      const style = getComputedStyle(e);
      if (style.overflowX !== 'visible' && e.scrollWidth > e.clientWidth + 1) found.push(`cut beside: ${called(e)}`);
      if (style.overflowY === 'hidden' && e.scrollHeight > e.clientHeight + 1) found.push(`cut below: ${called(e)}`);
    }
    if (board.scrollWidth > board.clientWidth + 1) found.push('the page is wider than the screen');
    if (!scrolls && board.scrollHeight > board.clientHeight + 1) found.push('the page is taller than the screen');
    const inked = lines.map(({ e, r, t }) => ({ e, t, l: r.left, x: r.right, y: r.top + r.height / 4, b: r.bottom - r.height / 4 }));
    inked.forEach((one, i) => inked.slice(i + 1).forEach(other => {
      if (one.e === other.e || one.e.contains(other.e) || other.e.contains(one.e)) return;
      if (Math.min(one.x, other.x) - Math.max(one.l, other.l) > 1 && Math.min(one.b, other.b) - Math.max(one.y, other.y) > 1)
        found.push(`over one another: '${one.t}' and '${other.t}'`);
    }));
    inked.forEach((one, i) => inked.slice(i + 1).forEach(other => {
      if (one.e === other.e || one.b < other.y || other.b < one.y) return;
      const [left, right] = one.l < other.l ? [one, other] : [other, one];
      if (Math.abs(right.l - left.x) < 1 && left.x - left.l > 1) found.push(`run together: '${left.t}' and '${right.t}'`);
    }));
    for (const { e, r, t } of lines) {
      const frame = e.closest('.said, .p, .glove, .banner, .kept');
      if (!frame) continue;
      const { left, top } = frame.getBoundingClientRect();
      const right = left + frame.clientLeft + frame.clientWidth, bottom = top + frame.clientTop + frame.clientHeight;
      if (r.right > right + 1 || (e.closest('.said') && r.bottom > bottom + 1)) found.push(`over its frame: '${t}'`);
    }
    for (const e of texts) for (const node of textOf(e)) for (const word of node.textContent.matchAll(/[A-Za-z]{3,14}/g)) {
      range.setStart(node, word.index);
      range.setEnd(node, word.index + word[0].length);
      const tops = new Set([...range.getClientRects()].map(r => Math.round(r.top)));
      if (tops.size > 1) found.push(`a word broken: '${word[0]}'`);
    }
    for (const e of all.filter(e => e.matches('a, button, input, summary') && seen(e))) {
      const { width, height } = e.getBoundingClientRect();
      const least = e.matches('.glove') ? 72 : 44;
      if (width < least - .5 || height < least - .5) found.push(`small target: ${called(e)} ${width | 0}×${height | 0}`);
      if (!(e.textContent.trim() || e.getAttribute('aria-label'))) found.push(`no name: ${called(e)}`);
    }
    for (const e of all.filter(e => e.matches('[role=img]') && seen(e)))
      if (!e.getAttribute('aria-label')) found.push(`no name: ${called(e)}`);
    const ids = all.map(e => e.id).filter(Boolean);
    if (new Set(ids).size < ids.length) found.push('an id twice');
    const heads = all.filter(e => /^H[1-6]$/.test(e.tagName) && seen(e)).map(e => Number(e.tagName[1]));
    if (heads.filter(n => n === 1).length !== 1) found.push(`${heads.filter(n => n === 1).length} headings of the first order`);
    heads.forEach((n, i) => { if (i && n > heads[i - 1] + 1) found.push(`a heading skipped: ${n}`) });
    for (const part of ['header', 'nav[aria-label]']) if (!board.querySelector(part)) found.push(`no ${part}`);
    if (!document.title || !document.documentElement.lang) found.push('no title or language');
  }

  if (contrast) {
    const channel = c => (c /= 255) <= .04045 ? c / 12.92 : ((c + .055) / 1.055) ** 2.4;
    const colour = text => (text.match(/[\d.]+/g) || [0, 0, 0, 0]).map(Number);
    const light = ([r, g, b]) => .2126 * channel(r) + .7152 * channel(g) + .0722 * channel(b);
    const ground = e => {
      for (let at = e; at; at = at.parentElement || at.getRootNode().host) {
        const c = colour(getComputedStyle(at).backgroundColor);
        if ((c[3] ?? 1) > .9) return c;
      }
      return [255, 255, 255];
    };
    for (const e of texts) {
      const style = getComputedStyle(e);
      const ink = light(colour(e.closest('svg') ? style.fill : style.color));
      const paper = light(ground(e));
      const ratio = (Math.max(ink, paper) + .05) / (Math.min(ink, paper) + .05);
      if (ratio < 4.5) found.push(`contrast ${ratio.toFixed(2)}: ${called(e)} '${e.textContent.trim().slice(0, 30)}'`);
    }
  }
  return [...new Set(found)];
})
