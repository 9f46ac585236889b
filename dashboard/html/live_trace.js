// The trace: readings over the last seconds, what counts drawn heavily on a band of its own, what
// does not count drawn thinly, the pass sizes as dotted lines, a bar that tells the scale.
const FRAME_MS = 20000;
const POINTS = 1500;
const GAP_MS = 1500; // a longer silence breaks the line: nothing is known between
const EDGE = 8;
const RIGHT = 90; // room for the scale's bar
const STEPS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000];

class Trace {
  constructor(canvas, words) {
    this.canvas = canvas;
    this.words = words;
    this.marks = { spans: [], low: null, high: null, contact: null };
    this.forget();
  }

  forget() {
    this.points = [];
    this.held = null;
    this.dirty = true;
  }

  add(points) {
    this.points.push(...points);
    if (this.points.length > POINTS) this.points.splice(0, this.points.length - POINTS);
    this.dirty = true;
  }

  mark(marks) {
    if (marks.low !== null || marks.contact !== this.marks.contact) this.held = null;
    this.marks = marks;
    this.dirty = true;
  }

  // Before the first pass the scale only widens, so that the line does not breathe.
  range(shown) {
    if (this.marks.low !== null) return [this.marks.low, this.marks.high];
    const values = shown.map(([, nm]) => nm);
    const low = Math.min(...values);
    const high = Math.max(...values);
    if (!this.held || low < this.held[0] || high > this.held[1]) {
      const room = Math.max((high - low) * 0.2, 10000);
      this.held = [low - room, high + room];
    }
    return this.held;
  }

  fit() {
    const scale = window.devicePixelRatio || 1;
    const [width, height] = [this.canvas.clientWidth, this.canvas.clientHeight];
    if (this.canvas.width !== Math.round(width * scale)) this.canvas.width = Math.round(width * scale);
    if (this.canvas.height !== Math.round(height * scale)) this.canvas.height = Math.round(height * scale);
    this.g = this.canvas.getContext('2d');
    this.g.setTransform(scale, 0, 0, scale, 0, 0);
    this.g.clearRect(0, 0, width, height);
    return [width, height];
  }

  draw() {
    if (!this.dirty || !this.canvas.clientWidth) return;
    this.dirty = false;
    const [width, height] = this.fit();
    if (!this.points.length) return;
    const style = getComputedStyle(this.canvas);
    this.colour = name => style.getPropertyValue(`--${name}`);
    const first = this.points[this.points.length - 1][0] - FRAME_MS;
    const shown = this.points.filter(([ms]) => ms >= first);
    const [low, high] = this.range(shown);
    const perNm = (height - 2 * EDGE) / (high - low);
    const x = ms => (ms - first) / FRAME_MS * (width - RIGHT);
    const y = nm => height - EDGE - Math.min(Math.max(nm - low, 0), high - low) * perNm;
    this.bands(x, height);
    this.line(shown, x, y, 'cut', 1.5, () => true);
    const counts = ms => this.marks.spans.some(([from, to]) => ms >= from && ms <= to);
    this.line(shown, x, y, 'counts', 4, counts);
    this.sizes(x, y, width);
    this.contact(x, first, height);
    this.bar(width, height, perNm);
  }

  bands(x, height) {
    this.g.fillStyle = this.colour('counts-soft');
    for (const [from, to] of this.marks.spans) {
      const left = Math.max(x(from), 0);
      if (x(to) > 0) this.g.fillRect(left, 0, Math.max(x(to) - left, 2), height);
    }
  }

  line(points, x, y, colour, width, wanted) {
    const g = this.g;
    g.strokeStyle = this.colour(colour);
    g.lineWidth = width;
    g.lineJoin = 'round';
    g.beginPath();
    let before = null;
    for (const [ms, nm] of points) {
      if (!wanted(ms)) {
        before = null;
        continue;
      }
      if (before !== null && ms - before <= GAP_MS) g.lineTo(x(ms), y(nm));
      else g.moveTo(x(ms), y(nm));
      before = ms;
    }
    g.stroke();
  }

  sizes(x, y, width) {
    const g = this.g;
    g.strokeStyle = this.colour('counts');
    g.lineWidth = 2;
    g.setLineDash([2, 5]);
    for (const [from, to, nm] of this.marks.spans) {
      if (x(to) < 0) continue;
      g.beginPath();
      g.moveTo(Math.max(x(from), 0), y(nm));
      g.lineTo(width - RIGHT, y(nm));
      g.stroke();
    }
    g.setLineDash([]);
  }

  contact(x, first, height) {
    if (this.marks.contact === null || this.marks.contact < first) return;
    const at = x(this.marks.contact);
    this.g.fillStyle = this.colour('ink');
    this.g.beginPath();
    this.g.moveTo(at - 7, height);
    this.g.lineTo(at + 7, height);
    this.g.lineTo(at, height - 12);
    this.g.fill();
  }

  bar(width, height, perNm) {
    const g = this.g;
    const unit = this.words.inch ? 25400 : 1000; // a thousandth of an inch, or a micrometre, in nm
    const fits = STEPS.filter(step => unit * step * perNm <= height * 0.45);
    const steps = fits.length ? fits[fits.length - 1] : 1;
    const tall = unit * steps * perNm;
    const top = (height - tall) / 2;
    const left = width - 72;
    g.strokeStyle = g.fillStyle = this.colour('ink');
    g.lineWidth = 2;
    g.beginPath();
    for (const end of [top, top + tall]) {
      g.moveTo(left - 4, end);
      g.lineTo(left + 4, end);
    }
    g.moveTo(left, top);
    g.lineTo(left, top + tall);
    g.stroke();
    g.font = '600 15px sans-serif';
    g.textBaseline = 'middle';
    const thick = !this.words.inch && steps >= 1000;
    const sign = this.words.inch ? this.words.thou : thick ? 'mm' : '\u03bcm';
    g.fillText(`${thick ? steps / 1000 : steps} ${sign}`, left + 10, height / 2);
  }
}
