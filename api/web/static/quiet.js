// When is nobody talking? The tool speaks into pauses only: what is said while it speaks is not heard.

const LOUD = 4; // times the room's own peaks
const LEAST = 0.01; // full scale is 1; a very still room would make a breath loud
const FORGETS = 1.01; // the room's level is forgotten by a hundredth a frame of a tenth of a second

export class Quiet {
  constructor() {
    this.room = 1;
    this.loudAt = 0;
  }

  /** Take in the peak of a tenth of a second (0 to 1) at a time in milliseconds. */
  hear(peak, now) {
    this.room = Math.min(this.room * FORGETS, Math.max(peak, 0.0005));
    if (peak > Math.max(LEAST, LOUD * this.room)) this.loudAt = now;
  }

  /** Tell for how many milliseconds it has been quiet. */
  lasts(now) {
    return now - this.loudAt;
  }
}
