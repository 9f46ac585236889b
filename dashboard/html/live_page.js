// One open page's live part: takes messages from the board's own WebSocket, fills the elements
// marked with data-id and data-list, greys what is old. All words and HTML come from the server.
const STALE_MS = 2000;
const SILENT_MS = 3000;
const TICK_MS = 250;
const BACK_OFF_MS = [250, 3000];
const FIT_STEP = 0.06;
const FIT_LEAST = 0.4;
const pages = new WeakMap();

class Page {
  constructor(root, data) {
    Object.assign(this, { root, data, words: data.words });
    this.board = root.querySelector('.board');
    this.figure = null;
    this.heard = 0;
    this.link = 'connecting';
    this.back = BACK_OFF_MS[0];
    this.dead = false;
    const canvas = this.at('trace');
    this.trace = canvas ? new Trace(canvas, this.words) : null;
    this.sound = this.at('sound')
      ? new Sound(this.words, this.at('sound'), this.at('voice'), this.at('volume'))
      : null;
    for (const [id, html] of Object.entries(data.texts)) this.fill(id, html);
    this.pressed = event => this.press(event);
    root.addEventListener('click', this.pressed);
    this.resized = () => {
      if (this.trace) this.trace.dirty = true;
      this.fit();
    };
    window.addEventListener('resize', this.resized);
    this.beat = setInterval(() => this.tick(), TICK_MS);
    this.open();
    this.tick();
    const frame = () => {
      if (this.dead) return;
      if (this.trace) this.trace.draw();
      if (this.unfit) this.fit();
      requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }

  at(id) {
    return this.root.querySelector(`[data-id="${id}"]`);
  }

  fill(id, html) {
    const element = this.at(id);
    if (!element) return;
    element.innerHTML = html;
    if (element.classList.contains('banner')) element.classList.toggle('empty', html === '');
  }

  // What is too long for its place is written smaller, step by step; nothing is cut.
  fit() {
    this.unfit = false;
    for (const box of this.root.querySelectorAll('[data-fit]')) {
      let scale = 1;
      box.style.removeProperty('--fit');
      while (box.clientWidth && scale > FIT_LEAST && overflows(box)) {
        scale -= FIT_STEP;
        box.style.setProperty('--fit', scale.toFixed(2));
      }
    }
  }

  open() {
    if (this.dead) return;
    const socket = new WebSocket(location.origin.replace(/^http/, 'ws') + this.data.url);
    socket.onopen = () => {
      this.link = 'up';
      this.back = BACK_OFF_MS[0];
      this.heard = performance.now();
    };
    socket.onmessage = event => {
      this.heard = performance.now();
      this.take(JSON.parse(event.data));
    };
    socket.onclose = () => {
      if (this.dead) return;
      this.link = 'down';
      this.tick();
      setTimeout(() => this.open(), this.back);
      this.back = Math.min(this.back * 2, BACK_OFF_MS[1]);
    };
    this.socket = socket;
  }

  press(event) {
    const button = event.target.closest('[data-do]');
    if (!button || this.socket.readyState !== WebSocket.OPEN) return;
    const { do: what, value: text, ask } = button.dataset;
    const value = Number(text) || text || null;
    this.socket.send(JSON.stringify({ do: what, value, ask: Number(ask) }));
    if (ask) button.setAttribute('aria-busy', 'true'); // until its record comes, or the ask goes
  }

  take(message) {
    if (message.stage) {
      this.board.dataset.stage = message.stage;
      if (this.trace) this.trace.dirty = true;
    }
    if (message.stage || message.blocks) this.unfit = true;
    if (this.trace && message.fresh_trace) this.trace.forget();
    for (const [id, html] of Object.entries(message.blocks || {})) this.fill(id, html);
    for (const [name, list] of Object.entries(message.lists || {})) this.list(name, list);
    if (this.trace && message.trace) this.trace.mark(message.trace);
    if (this.trace && message.points) this.trace.add(message.points);
    if (message.figure) {
      this.figure = message.figure;
      this.tick();
    }
    for (const [name, about] of message.cues || []) this.cue(name, about);
  }

  // Entries keep their element, so that the keyboard's focus stays where it is.
  list(name, { order, items }) {
    const box = this.root.querySelector(`[data-list="${name}"]`);
    if (!box) return;
    const had = new Map([...box.children].map(element => [element.dataset.key, element]));
    for (const [key, href, html] of items) {
      if (!had.has(key)) {
        const made = document.createElement(href ? 'a' : 'div');
        made.dataset.key = key;
        made.className = 'item';
        had.set(key, made);
      }
      if (href) had.get(key).href = href;
      had.get(key).innerHTML = html;
    }
    for (const [key, element] of had) if (!order.includes(key)) element.remove();
    order.forEach((key, place) => {
      const element = had.get(key);
      if (element && box.children[place] !== element) box.insertBefore(element, box.children[place] || null);
    });
    const count = order.length;
    const columns = count <= 3 ? count : count <= 4 ? 2 : count <= 9 ? 3 : count <= 16 ? 4 : 6;
    box.style.setProperty('--columns', Math.max(columns, 1));
    box.dataset.many = count > 9 ? 'yes' : 'no';
  }

  // Each sound has its visible twin.
  cue(name, about) {
    const element = this.at('cue');
    const text = this.words[`cue_${name}`] || name;
    if (element) {
      element.textContent = `${text} ${about}`;
      element.dataset.cue = name;
      element.classList.remove('flash');
      void element.offsetWidth; // the animation begins anew only after a layout
      element.classList.add('flash');
    }
    if (!this.sound) return;
    this.sound.play(name);
    const size = name === 'sized' ? this.at('answer')?.querySelector('.size b')?.textContent : '';
    this.sound.say(size || (name === 'place' ? `${text} ${about}` : text));
  }

  tick() {
    const quiet = performance.now() - this.heard;
    const { connecting, server_down, server_silent } = this.words;
    const silent = quiet > SILENT_MS ? server_silent : '';
    const trouble = { connecting, down: server_down, up: silent }[this.link];
    this.fill('server', trouble);
    this.board.dataset.live = trouble ? 'no' : 'yes';
    const paper = getComputedStyle(this.root.host || this.root).getPropertyValue('--st-background-color');
    const dark = isDark(paper.trim() || '#fff') ? 'yes' : 'no';
    if (this.trace && dark !== this.board.dataset.dark) this.trace.dirty = true;
    this.board.dataset.dark = dark;
    if (this.figure && this.at('figure')) this.show(this.figure, quiet, trouble !== '');
  }

  show(figure, quiet, cutOff) {
    const age = figure.age_ms + quiet;
    const old = figure.state !== 'live' || age > STALE_MS || cutOff;
    const plain = figure.state === 'lost' || figure.state === 'none';
    const digits = this.at('digits');
    if (digits.textContent !== figure.text) digits.textContent = figure.text;
    this.at('sign').textContent = figure.state === 'none' ? '' : figure.sign;
    this.at('figure').dataset.state = plain ? figure.state : old ? 'stale' : 'live';
    this.at('age').textContent = this.ageWords(figure.state, old, age);
    this.at('gauge').textContent = figure.gauge ? this.words.gauge_is.replace('{gauge}', figure.gauge) : '';
  }

  ageWords(state, old, age) {
    if (state === 'none') return this.words.no_reading;
    const silence = this.words.no_reading_for.replace('{age}', this.age(age));
    if (state === 'lost') return `${this.words.lost}, ${silence}`;
    return old ? silence : this.words.live;
  }

  age(ms) {
    const seconds = ms / 1000;
    if (seconds >= 120) return this.words.minutes.replace('{n}', (seconds / 60).toFixed(0));
    const text = seconds < 10 ? seconds.toFixed(1).replace('.', this.words.mark) : seconds.toFixed(0);
    return this.words.seconds.replace('{n}', text);
  }

  stop() {
    this.dead = true;
    clearInterval(this.beat);
    window.removeEventListener('resize', this.resized);
    this.root.removeEventListener('click', this.pressed);
    this.socket.close();
    if (this.sound) this.sound.close();
    pages.delete(this.root);
  }
}

// Whether a line within ends below its frame, or beside it.
function overflows(box) {
  const lines = [...box.querySelectorAll('p, tr, td')];
  const below = line => { // on a frame's line is below it
    const frame = line.closest('.said') || box;
    const inner = frame.getBoundingClientRect().top + frame.clientTop + frame.clientHeight;
    return line.getBoundingClientRect().bottom > inner + 1;
  };
  const beside = line => line.clientWidth && line.scrollWidth > line.clientWidth + 1;
  return [box, ...lines].some(beside) || lines.some(below);
}

// Streamlit tells the theme by its colours: whichever it is, ours must stand on the same ground.
function isDark(colour) {
  const probe = document.createElement('canvas').getContext('2d');
  probe.fillStyle = colour;
  const rgb = parseInt(probe.fillStyle.slice(1, 7), 16);
  const [red, green, blue] = [rgb >> 16 & 255, rgb >> 8 & 255, rgb & 255];
  return red * 0.299 + green * 0.587 + blue * 0.114 < 128;
}

// Called again when the page's script is run again: the page and its socket stay.
export default function ({ data, parentElement }) {
  const page = pages.get(parentElement) || new Page(parentElement, data);
  pages.set(parentElement, page);
  return () => page.stop();
}
