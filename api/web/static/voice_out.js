// What the bench answers: a pair of tones, and words where this browser can speak. While it speaks, the
// microphone is masked, so that the tool never hears itself; so it speaks in a pause, or not at all. Tones are
// not masked: speech is told from them, and half a second of masking would hide the beginning of the next phrase.

const TONES = { taken: [660, 880], ask: [880, 880], out: [880, 587] };
const TONE_S = 0.11;
const ECHO_MS = 250; // the room answers a little longer
const PAUSE_MS = 300; // so long nobody talked
const WAITS_MS = 4000; // words that found no pause are on the screen anyway

export class VoiceOut {
  /**
   * @param {AudioContext} context
   * @param {(masked: boolean) => void} mask
   * @param {Quiet} quiet
   */
  constructor(context, mask, quiet) {
    Object.assign(this, { context, mask, quiet });
    this.silent = false;
    this.sounding = 0;
  }

  answer({ tone, say }) {
    if (tone) this.sound(TONES[tone]);
    clearTimeout(this.waiting); // what is said now is about something newer
    if (say && !this.silent && "speechSynthesis" in window && speechSynthesis.getVoices().length) {
      this.speakInPause(say, performance.now() + WAITS_MS);
    }
  }

  speakInPause(say, until) {
    const now = performance.now();
    if (this.quiet.lasts(now) >= PAUSE_MS) this.speak(say);
    else if (now < until) this.waiting = setTimeout(() => this.speakInPause(say, until), 50);
  }

  sound(pair) {
    const at = this.context.currentTime + 0.02;
    pair.forEach((hz, i) => {
      const start = at + i * TONE_S * 1.15;
      const gain = new GainNode(this.context, { gain: 0 });
      gain.gain.setTargetAtTime(0.25, start, 0.008);
      gain.gain.setTargetAtTime(0, start + TONE_S - 0.02, 0.012);
      const tone = new OscillatorNode(this.context, { frequency: hz });
      tone.connect(gain).connect(this.context.destination);
      tone.start(start);
      tone.stop(start + TONE_S + 0.05);
    });
  }

  speak(say) {
    speechSynthesis.cancel();
    const words = new SpeechSynthesisUtterance(say);
    words.rate = 1.1;
    this.hold();
    words.onend = words.onerror = () => setTimeout(() => this.release(), ECHO_MS);
    speechSynthesis.speak(words);
  }

  hold() {
    this.sounding += 1;
    this.mask(true);
  }

  release() {
    this.sounding = Math.max(0, this.sounding - 1);
    if (!this.sounding) this.mask(false);
  }
}
