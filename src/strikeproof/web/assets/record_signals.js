// Tones, spoken words and a phone's vibration for who looks at the bolt and not at the screen; off until wanted.
const KEPT = "strikeproof.record.signals";

const say = (text) => text; // marks a text for the catalogues
export const CHOICES = [
  ["off", say("none")],
  ["tones", say("tones")],
  ["words", say("tones and spoken words")],
];

// Each tone: pitch [Hz], length [s]; 0 Hz is a pause. Each vibration: on, off, on, in milliseconds.
const SIGNALS = {
  ready: { tones: [[660, 0.12], [0, 0.05], [990, 0.2]], shakes: [80] },
  release: { tones: [[1320, 0.3], [0, 0.1], [1320, 0.3], [0, 0.1], [1320, 0.3]], shakes: [300, 100, 300, 100, 300] },
  stop: { tones: Array.from({ length: 12 }, (_, at) => [at % 2 ? 620 : 1240, 0.15]), shakes: [600, 100, 600, 100, 600] },
  done: { tones: [[520, 0.25]], shakes: [60, 60, 60] },
  repeat: { tones: [[520, 0.2], [0, 0.05], [390, 0.2], [0, 0.05], [290, 0.35]], shakes: [200, 100, 200] },
};

export class Signals {
  constructor() {
    const kept = localStorage.getItem(KEPT);
    this.choice = CHOICES.some(([name]) => name === kept) ? kept : "off";
  }

  // A browser lets a page sound only after a press on it: this is called by one.
  choose(choice) {
    this.choice = choice;
    localStorage.setItem(KEPT, choice);
    this.wake();
  }

  wake() {
    if (this.choice === "off") return;
    this.context ||= new AudioContext();
    if (this.context.state === "suspended") this.context.resume();
  }

  give(name, words, language) {
    const signal = SIGNALS[name];
    if (!signal || this.choice === "off") return;
    this.wake();
    this.sound(signal.tones);
    if (navigator.vibrate) navigator.vibrate(signal.shakes);
    if (this.choice === "words" && window.speechSynthesis) this.speak(words, language, signal.tones);
  }

  sound(tones) {
    let at = this.context.currentTime + 0.02;
    for (const [pitch, length] of tones) {
      if (pitch) {
        const tone = this.context.createOscillator();
        const loudness = this.context.createGain();
        tone.type = "square"; // carries further over a workshop than a pure tone
        tone.frequency.value = pitch;
        loudness.gain.setValueAtTime(0.0001, at);
        loudness.gain.exponentialRampToValueAtTime(0.5, at + 0.01);
        loudness.gain.setValueAtTime(0.5, at + length - 0.02);
        loudness.gain.exponentialRampToValueAtTime(0.0001, at + length);
        tone.connect(loudness).connect(this.context.destination);
        tone.start(at);
        tone.stop(at + length);
      }
      at += length;
    }
  }

  // After the tones; what was being said before is out of date.
  speak(words, language, tones) {
    clearTimeout(this.waiting);
    window.speechSynthesis.cancel();
    const spoken = new SpeechSynthesisUtterance(words);
    spoken.lang = language;
    this.waiting = setTimeout(() => window.speechSynthesis.speak(spoken), 1000 * tones.reduce((sum, [, length]) => sum + length, 0));
  }

  close() {
    clearTimeout(this.waiting);
    window.speechSynthesis?.cancel();
    this.context?.close();
  }
}
