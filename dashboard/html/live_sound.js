// Sounds of our own, made in the browser: short tones by Web Audio, and a spoken size on request.
// Each tone is [frequency in Hz, start in ms, length in ms, wave shape].
const SOUNDS = {
  contact: [[392, 0, 60, 'triangle']],
  passed: [[660, 0, 55, 'sine'], [990, 35, 60, 'sine']],
  uncounted: [[294, 0, 130, 'triangle'], [262, 170, 200, 'triangle']],
  coached: [[523, 0, 70, 'sine'], [440, 90, 110, 'sine']],
  told: [[587, 0, 70, 'sine'], [784, 60, 90, 'sine']],
  sized: [[523, 0, 110, 'triangle'], [659, 110, 110, 'triangle'], [988, 220, 260, 'triangle']],
  again: [[440, 0, 120, 'triangle'], [440, 190, 120, 'triangle']],
  refused: [[311, 0, 180, 'sawtooth'], [233, 180, 320, 'sawtooth']],
  lost: [
    [196, 0, 150, 'square'], [147, 200, 150, 'square'],
    [196, 400, 150, 'square'], [147, 600, 150, 'square'],
  ],
  trouble: [[220, 0, 160, 'square'], [165, 200, 260, 'square']],
  waiting: [[587, 0, 90, 'triangle'], [440, 110, 140, 'triangle']],
};
const LOUDEST = 0.5;
const SILENT = 0.0001; // an exponential ramp can't reach zero

// What a browser in private mode does not keep is forgotten with the page.
const kept = (key, other) => {
  try { return localStorage.getItem(`barrelfit.${key}`) ?? other; } catch { return other; }
};
const keep = (key, value) => {
  try { localStorage.setItem(`barrelfit.${key}`, value); } catch { /* private mode */ }
};

class Sound {
  constructor(words, button, voice, volume) {
    Object.assign(this, { words, button, voice, volume });
    this.on = kept('sound', 'on') === 'on';
    this.speaks = kept('voice', 'off') === 'on';
    volume.value = kept('volume', '60');
    button.onclick = () => this.press();
    voice.onclick = () => {
      this.speaks = !this.speaks;
      keep('voice', this.speaks ? 'on' : 'off');
      this.show();
    };
    volume.oninput = () => keep('volume', volume.value);
    this.show();
  }

  get running() {
    return this.context !== undefined && this.context.state === 'running';
  }

  // A browser lets a page sound only after a touch: the first one allows it, later ones mute.
  press() {
    this.on = this.running ? !this.on : true;
    keep('sound', this.on ? 'on' : 'off');
    this.wake();
    this.show();
  }

  wake() {
    this.context ??= new AudioContext();
    if (this.context.state === 'suspended') this.context.resume().then(() => this.show(), () => {});
  }

  show() {
    const heard = this.running ? this.words.sound_on : this.words.sound_touch;
    this.button.textContent = this.on ? heard : this.words.sound_off;
    this.button.setAttribute('aria-pressed', String(this.on));
    this.voice.textContent = this.speaks ? this.words.speech_on : this.words.speech_off;
    this.voice.setAttribute('aria-pressed', String(this.speaks));
  }

  say(text) {
    if (!this.speaks || !text || !('speechSynthesis' in window)) return;
    const said = new SpeechSynthesisUtterance(text);
    said.volume = this.volume.value / 100;
    speechSynthesis.speak(said);
  }

  play(name) {
    if (!this.on || !SOUNDS[name]) return;
    this.wake();
    const loud = LOUDEST * (this.volume.value / 100) ** 2; // loudness is heard by its square
    if (!this.running || loud <= SILENT) return;
    for (const tone of SOUNDS[name]) this.tone(tone, loud);
  }

  tone([hz, start, length, shape], loud) {
    const tone = this.context.createOscillator();
    const gain = this.context.createGain();
    const from = this.context.currentTime + start / 1000;
    const to = from + length / 1000;
    tone.type = shape;
    tone.frequency.value = hz;
    tone.connect(gain).connect(this.context.destination);
    gain.gain.setValueAtTime(SILENT, from);
    gain.gain.exponentialRampToValueAtTime(loud, from + 0.008);
    gain.gain.exponentialRampToValueAtTime(SILENT, to);
    tone.start(from);
    tone.stop(to + 0.02);
  }

  close() {
    if (this.context) this.context.close().catch(() => {});
  }
}
