// A microphone that gives nothing but zeros: switched off, or a headset whose noise gate shuts between phrases?
//
// No room gives zeros, so that five seconds of them are told. A gate gives them again and again, each time until
// somebody speaks: once that was heard, what counts is how much longer it is than the pauses so far. The times are
// common sense, no source.

const DEAD_MS = 5000; // without a gate
const GATE_MS = 300; // shorter holes are of a line or driver
const SPEECH_MS = 200; // sound for so long; a click opens no gate
const AGAIN = 3; // so many stretches that ended in sound make a gate
const LONGER = 4; // times the longest pause
const LEAST_MS = 30000; // with a gate: who measures is silent for a while
const MOST_MS = 120000; // however long the pauses were

export class DeadAir {
  /** @param {number} now milliseconds */
  constructor(now) {
    this.since = now; // of the zeros, or when they would begin
    this.soundSince = null;
    this.hole = 0; // how long the zeros were before the sound that is heard now
    this.pauses = 0;
    this.longest = 0;
  }

  /** Take in the peak of a tenth of a second (0 to 1), heard at a time in milliseconds. */
  hear(peak, now) {
    if (peak === 0) {
      this.soundSince = null;
      return;
    }
    if (this.soundSince === null) {
      this.soundSince = now;
      this.hole = Math.max(this.hole, now - this.since);
    }
    this.since = now;
    if (now - this.soundSince < SPEECH_MS) return;
    if (this.hole >= GATE_MS) {
      this.pauses += 1;
      this.longest = Math.max(this.longest, this.hole);
    }
    this.hole = 0;
  }

  /** Return after how many milliseconds of zeros it is told. */
  get bound() {
    if (this.pauses < AGAIN) return DEAD_MS;
    return Math.min(MOST_MS, Math.max(LEAST_MS, LONGER * this.longest));
  }

  /** Return what to say in red, or "". */
  why(now) {
    const lasts = now - this.since;
    if (lasts <= this.bound) return "";
    if (this.pauses < AGAIN) return "the microphone gives dead silence: is it switched off?";
    const s = (ms) => `${Math.round(ms / 1000)} s`;
    return `no sound at all for ${s(lasts)}, pauses so far were up to ${s(this.longest)}: is it switched off?`;
  }
}
