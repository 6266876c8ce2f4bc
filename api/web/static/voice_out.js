// What the bench answers: a pair of tones, and words where this browser can speak. While it sounds, the
// microphone is masked, so that the tool never hears itself.

const TONES = { taken: [660, 880], ask: [880, 880], out: [440, 311] };
const TONE_S = 0.11;
const ECHO_MS = 250; // the room answers a little longer

export class VoiceOut {
  /** @param {AudioContext} context @param {(masked: boolean) => void} mask */
  constructor(context, mask) {
    Object.assign(this, { context, mask });
    this.silent = false;
    this.sounding = 0;
  }

  answer({ tone, say }) {
    if (tone) this.sound(TONES[tone]);
    if (say && !this.silent && "speechSynthesis" in window && speechSynthesis.getVoices().length) this.speak(say);
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
    this.masking(2.3 * TONE_S * 1000);
  }

  speak(say) {
    speechSynthesis.cancel();
    const words = new SpeechSynthesisUtterance(say);
    words.rate = 1.1;
    this.hold();
    words.onend = words.onerror = () => setTimeout(() => this.release(), ECHO_MS);
    speechSynthesis.speak(words);
  }

  masking(ms) {
    this.hold();
    setTimeout(() => this.release(), ms + ECHO_MS);
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
