// One open page's live part: takes messages from the board's own WebSocket, fills blocks,
// draws the trace, greys what is old, and makes the cues' sounds. All words come from the server.
const pages = new WeakMap();
const FRAME_MS = 20000, POINTS = 1500, STALE_MS = 2000, SILENT_MS = 3000;

// Sounds of our own: [frequency Hz, start ms, length ms, shape] of each tone.
const SOUNDS = {
  contact: [[392, 0, 60, 'triangle']],
  passed: [[660, 0, 55, 'sine'], [990, 35, 60, 'sine']],
  sized: [[523, 0, 110, 'triangle'], [659, 110, 110, 'triangle'], [988, 220, 260, 'triangle']],
  again: [[440, 0, 120, 'triangle'], [440, 190, 120, 'triangle']],
  refused: [[311, 0, 180, 'sawtooth'], [233, 180, 320, 'sawtooth']],
  lost: [[196, 0, 150, 'square'], [147, 200, 150, 'square'], [196, 400, 150, 'square'],
    [147, 600, 150, 'square']],
};

const kept = (key, other) => { try { return localStorage.getItem(key) ?? other } catch { return other } };
const keep = (key, value) => { try { localStorage.setItem(key, value) } catch { /* private mode */ } };

function ageText(words, ms) {
  const s = ms / 1000;
  if (s < 10) return words.seconds.replace('{n}', s.toFixed(1).replace('.', words.mark));
  return s < 120 ? words.seconds.replace('{n}', s.toFixed(0)) : words.minutes.replace('{n}', (s / 60).toFixed(0));
}

class Sound {
  constructor(words, button, voice, volume) {
    this.words = words; this.button = button; this.voice = voice; this.volume = volume;
    this.on = kept('barrelfit.sound', 'on') === 'on';
    this.speaks = kept('barrelfit.voice', 'off') === 'on';
    volume.value = kept('barrelfit.volume', '60');
    button.onclick = () => { this.on = this.blocked() ? true : !this.on; keep('barrelfit.sound', this.on ? 'on' : 'off'); this.wake(); this.show() };
    voice.onclick = () => { this.speaks = !this.speaks; keep('barrelfit.voice', this.speaks ? 'on' : 'off'); this.show() };
    volume.oninput = () => keep('barrelfit.volume', volume.value);
    this.show();
  }
  blocked() { return !this.context || this.context.state !== 'running' }
  wake() {
    if (!this.context) this.context = new AudioContext();
    if (this.context.state === 'suspended') this.context.resume().then(() => this.show(), () => {});
  }
  show() {
    const w = this.words;
    this.button.textContent = !this.on ? w.sound_off : this.context && this.context.state === 'running' ? w.sound_on : w.sound_touch;
    this.button.setAttribute('aria-pressed', String(this.on));
    this.voice.textContent = this.speaks ? w.speech_on : w.speech_off;
    this.voice.setAttribute('aria-pressed', String(this.speaks));
  }
  play(name, spoken) {
    if (this.speaks && spoken && 'speechSynthesis' in window) {
      const said = new SpeechSynthesisUtterance(spoken); said.volume = this.volume.value / 100; speechSynthesis.speak(said);
    }
    if (!this.on || !SOUNDS[name]) return;
    this.wake();
    const c = this.context, loud = 0.5 * (this.volume.value / 100) ** 2;
    if (c.state !== 'running' || loud === 0) return;
    for (const [hz, start, length, shape] of SOUNDS[name]) {
      const tone = c.createOscillator(), gain = c.createGain(), from = c.currentTime + start / 1000, to = from + length / 1000;
      tone.type = shape; tone.frequency.value = hz; tone.connect(gain).connect(c.destination);
      gain.gain.setValueAtTime(0.0001, from); gain.gain.exponentialRampToValueAtTime(loud, from + 0.008);
      gain.gain.exponentialRampToValueAtTime(0.0001, to); tone.start(from); tone.stop(to + 0.02);
    }
  }
  close() { if (this.context) this.context.close().catch(() => {}) }
}

class Trace {
  constructor(canvas, words) { this.canvas = canvas; this.words = words; this.points = []; this.marks = { spans: [] }; this.dirty = true }
  fresh() { this.points = []; this.dirty = true }
  add(points) { this.points.push(...points); if (this.points.length > POINTS) this.points.splice(0, this.points.length - POINTS); this.dirty = true }
  range(shown) {
    let { low, high } = this.marks;
    if (low === null || low === undefined) {
      low = Infinity; high = -Infinity;
      for (const p of shown) { if (p[1] < low) low = p[1]; if (p[1] > high) high = p[1] }
      const room = Math.max((high - low) * 0.1, 5000); low -= room; high += room;
    }
    return [low, high];
  }
  draw() {
    if (!this.dirty || !this.canvas.clientWidth) return;
    this.dirty = false;
    const scale = window.devicePixelRatio || 1, W = this.canvas.clientWidth, H = this.canvas.clientHeight;
    if (this.canvas.width !== Math.round(W * scale)) { this.canvas.width = Math.round(W * scale); this.canvas.height = Math.round(H * scale) }
    const g = this.canvas.getContext('2d'), style = getComputedStyle(this.canvas);
    g.setTransform(scale, 0, 0, scale, 0, 0); g.clearRect(0, 0, W, H);
    if (!this.points.length) return;
    const last = this.points[this.points.length - 1][0], first = last - FRAME_MS;
    const shown = this.points.filter(p => p[0] >= first);
    const [low, high] = this.range(shown), pad = 8;
    const x = t => (t - first) / FRAME_MS * (W - 90), y = v => H - pad - Math.min(Math.max((v - low) / (high - low), 0), 1) * (H - 2 * pad);
    const counts = t => this.marks.spans.some(s => t >= s[0] && t <= s[1]);
    g.fillStyle = style.getPropertyValue('--counts-soft');
    for (const s of this.marks.spans) { const from = Math.max(x(s[0]), 0), to = x(s[1]); if (to > 0) g.fillRect(from, 0, Math.max(to - from, 2), H) }
    this.line(g, shown, x, y, style.getPropertyValue('--cut'), 1.5, () => true);
    this.line(g, shown, x, y, style.getPropertyValue('--counts'), 4, p => counts(p[0]));
    g.strokeStyle = style.getPropertyValue('--counts'); g.lineWidth = 2; g.setLineDash([2, 5]);
    for (const s of this.marks.spans) { if (x(s[1]) < 0) continue; g.beginPath(); g.moveTo(Math.max(x(s[0]), 0), y(s[2])); g.lineTo(W - 90, y(s[2])); g.stroke() }
    g.setLineDash([]);
    if (this.marks.contact !== null && this.marks.contact >= first) {
      g.fillStyle = style.getPropertyValue('--ink'); const at = x(this.marks.contact);
      g.beginPath(); g.moveTo(at - 7, H); g.lineTo(at + 7, H); g.lineTo(at, H - 12); g.fill();
    }
    this.bar(g, style, W, H, (H - 2 * pad) / (high - low));
  }
  line(g, points, x, y, colour, width, wanted) {
    g.strokeStyle = colour; g.lineWidth = width; g.lineJoin = 'round'; g.beginPath();
    let pen = false, before = null;
    for (const p of points) {
      if (!wanted(p) || (before !== null && p[0] - before > 1500)) pen = false;
      before = p[0];
      if (!wanted(p)) continue;
      if (pen) g.lineTo(x(p[0]), y(p[1])); else { g.moveTo(x(p[0]), y(p[1])); pen = true }
    }
    g.stroke();
  }
  bar(g, style, W, H, perNm) {
    const unit = this.words.inch ? 25400 : 1000; // one thou, or one micrometre, in nm
    let length = unit;
    for (const step of [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000]) { if (unit * step * perNm > H * 0.45) break; length = unit * step }
    const tall = length * perNm, top = (H - tall) / 2;
    g.strokeStyle = style.getPropertyValue('--ink'); g.lineWidth = 2; g.beginPath();
    g.moveTo(W - 76, top); g.lineTo(W - 68, top); g.moveTo(W - 72, top); g.lineTo(W - 72, top + tall); g.moveTo(W - 76, top + tall); g.lineTo(W - 68, top + tall); g.stroke();
    g.fillStyle = style.getPropertyValue('--ink'); g.font = '600 15px sans-serif'; g.textBaseline = 'middle';
    const n = length / unit, big = !this.words.inch && n >= 1000;
    g.fillText(`${big ? n / 1000 : n} ${this.words.inch ? 'thou' : big ? 'mm' : '\u03bcm'}`, W - 62, H / 2);
  }
}

class Page {
  constructor(root, data) {
    this.root = root; this.words = data.words; this.data = data;
    this.at = id => root.querySelector(`[data-id="${id}"]`);
    this.figure = null; this.heard = 0; this.link = 'connecting'; this.back = 250; this.dead = false; this.size = '';
    const canvas = this.at('trace');
    this.trace = canvas ? new Trace(canvas, this.words) : null;
    this.sound = this.at('sound') ? new Sound(this.words, this.at('sound'), this.at('voice'), this.at('volume')) : null;
    for (const [id, text] of Object.entries(data.texts || {})) { const e = this.at(id); if (e) e.innerHTML = text }
    this.open(); this.beat = setInterval(() => this.tick(), 250); this.tick();
    this.pressed = event => { const b = event.target.closest('[data-do]'); if (b && this.socket.readyState === 1) this.socket.send(JSON.stringify({ do: b.dataset.do, value: Number(b.dataset.value) || null })) };
    root.addEventListener('click', this.pressed);
    const frame = () => { if (this.dead) return; if (this.trace) this.trace.draw(); requestAnimationFrame(frame) };
    requestAnimationFrame(frame);
    this.resized = () => { if (this.trace) this.trace.dirty = true }; window.addEventListener('resize', this.resized);
  }
  open() {
    if (this.dead) return;
    const socket = this.socket = new WebSocket(location.origin.replace(/^http/, 'ws') + this.data.url);
    socket.onopen = () => { this.link = 'up'; this.back = 250; this.heard = performance.now() };
    socket.onmessage = event => { this.heard = performance.now(); this.take(JSON.parse(event.data)) };
    socket.onclose = () => { if (this.dead) return; this.link = 'down'; this.tick(); setTimeout(() => this.open(), this.back); this.back = Math.min(this.back * 2, 3000) };
  }
  take(m) {
    if (m.fresh_trace && this.trace) this.trace.fresh();
    if (m.blocks) for (const [id, html] of Object.entries(m.blocks)) { const e = this.at(id); if (e) { e.innerHTML = html; if (e.classList.contains('banner')) e.classList.toggle('empty', html === '') } }
    for (const [name, list] of Object.entries(m.lists || {})) this.list(this.root.querySelector(`[data-list="${name}"]`), list);
    if (m.trace && this.trace) { this.trace.marks = m.trace; this.trace.dirty = true }
    if (m.points && this.trace) this.trace.add(m.points);
    if (m.figure) { this.figure = m.figure; this.tick() }
    for (const [name, about] of m.cues || []) this.cue(name, about);
  }
  list(box, { order, items }) { // entries keep their element, so that the keyboard's focus stays
    if (!box) return;
    const had = new Map([...box.children].map(e => [e.dataset.key, e]));
    for (const [key, href, html] of items) {
      let e = had.get(key);
      if (!e) { e = document.createElement(href ? 'a' : 'div'); e.dataset.key = key; e.className = 'item'; had.set(key, e) }
      if (href) e.href = href;
      e.innerHTML = html;
    }
    for (const [key, e] of had) if (!order.includes(key)) e.remove();
    order.forEach((key, i) => { const e = had.get(key); if (e && box.children[i] !== e) box.insertBefore(e, box.children[i] || null) });
    const n = order.length; box.style.setProperty('--columns', n <= 3 ? n : n <= 4 ? 2 : n <= 9 ? 3 : n <= 16 ? 4 : 6);
    box.dataset.many = n > 9 ? 'yes' : 'no';
  }
  cue(name, about) {
    const e = this.at('cue'), text = this.words['cue_' + name] || name;
    if (e) { e.textContent = `${text} ${about}`; e.dataset.cue = name; e.classList.remove('flash'); void e.offsetWidth; e.classList.add('flash') }
    if (this.sound) this.sound.play(name, name === 'sized' ? (this.at('result')?.querySelector('strong')?.textContent || text) : text);
  }
  tick() {
    const quiet = performance.now() - this.heard, w = this.words, box = this.at('figure');
    let trouble = '';
    if (this.link === 'connecting') trouble = w.connecting; else if (this.link === 'down') trouble = w.server_down; else if (quiet > SILENT_MS) trouble = w.server_silent;
    const over = this.at('server'); over.textContent = trouble; over.classList.toggle('empty', trouble === '');
    this.root.querySelector('.board').dataset.live = trouble ? 'no' : 'yes';
    const tone = getComputedStyle(this.root.host || this.root).getPropertyValue('--st-background-color').trim();
    if (tone) this.root.querySelector('.board').dataset.dark = dark(tone) ? 'yes' : 'no';
    if (!box || !this.figure) return;
    const f = this.figure, age = f.age_ms + quiet, old = f.state !== 'live' || age > STALE_MS || trouble !== '';
    const digits = this.at('digits'); if (digits.textContent !== f.text) digits.textContent = f.text;
    this.at('sign').textContent = f.state === 'none' ? '' : f.sign;
    box.dataset.state = f.state === 'lost' || f.state === 'none' ? f.state : old ? 'stale' : 'live';
    this.at('age').textContent = f.state === 'none' ? w.no_reading : f.state === 'lost' ? `${w.lost}, ${w.no_reading_for.replace('{age}', ageText(w, age))}` : old ? w.no_reading_for.replace('{age}', ageText(w, age)) : w.live;
    this.at('gauge').textContent = f.gauge ? w.gauge_is.replace('{gauge}', f.gauge) : '';
  }
  stop() { this.dead = true; clearInterval(this.beat); window.removeEventListener('resize', this.resized); this.root.removeEventListener('click', this.pressed); this.socket.close(); if (this.sound) this.sound.close(); pages.delete(this.root) }
}

function dark(colour) {
  const probe = document.createElement('canvas').getContext('2d'); probe.fillStyle = colour;
  const hex = probe.fillStyle, n = parseInt(hex.slice(1, 7), 16);
  return (n >> 16 & 255) * 0.299 + (n >> 8 & 255) * 0.587 + (n & 255) * 0.114 < 128;
}

export default function ({ data, parentElement }) {
  const page = pages.get(parentElement) || new Page(parentElement, data); // called again on re-send
  pages.set(parentElement, page);
  return () => page.stop();
}
