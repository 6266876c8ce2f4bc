// A work order said at the start of a pump: phrases are cut out of what the microphone hears and sent one by one.
// Nothing is kept, here or there.

const BEFORE = 4; // frames of a tenth of a second kept from before somebody speaks
const QUIET = 8; // frames of silence that end a phrase
const SHORTEST = 10;
const LONGEST = 70; // whoever talks on says no work order
const LOUDER = 3; // than the room, for speech
const LEAST = 0.004; // of full scale

export class OrderVoice {
  /**
   * @param {(sound: Int16Array) => Promise<void>} phrase is given one phrase; the next when it is done
   * @param {(why: string) => void} deaf is told why nothing is heard, or ""
   */
  constructor(phrase, deaf) {
    Object.assign(this, { phrase, deaf });
    this.frames = [];
    this.room = 0.01;
    this.quiet = 0;
    this.speaking = false;
    this.busy = false;
    this.waiting = null; // a phrase while another is heard
    this.on = false;
  }

  async startIfAllowed() {
    try {
      const { state } = await navigator.permissions.query({ name: "microphone" });
      if (state === "granted") await this.start();
    } catch {
      // A browser that cannot say: the button is there.
    }
  }

  async start() {
    if (this.on) return;
    try {
      if (!navigator.mediaDevices) throw new Error("this page needs https, or localhost, for the microphone");
      const audio = { autoGainControl: false, noiseSuppression: false, echoCancellation: false, channelCount: 1 };
      this.stream = await navigator.mediaDevices.getUserMedia({ audio });
    } catch (error) {
      this.deaf(`no microphone: ${error.message || error.name}`);
      return;
    }
    this.on = true;
    this.context = new AudioContext();
    await this.context.audioWorklet.addModule("/static/capture_worklet.js");
    const capture = new AudioWorkletNode(this.context, "capture", { numberOfOutputs: 0 });
    this.context.createMediaStreamSource(this.stream).connect(capture);
    capture.port.onmessage = ({ data }) => this.take(data.samples);
    this.deaf("");
  }

  stop() {
    this.on = false;
    this.stream?.getTracks().forEach((track) => track.stop());
    this.context?.close();
  }

  take(samples) {
    const level = Math.sqrt(samples.reduce((sum, value) => sum + (value / 32768) ** 2, 0) / samples.length);
    const loud = level > Math.max(LOUDER * this.room, LEAST);
    // Falls at once, rises slowly: speech does not become the room.
    this.room = level < this.room ? level : this.room * 1.01;
    if (!this.on) return;
    if (this.frames.length <= LONGEST) this.frames.push(samples);
    if (!this.speaking && !loud) {
      this.frames = this.frames.slice(-BEFORE);
      return;
    }
    this.speaking = true;
    this.quiet = loud ? 0 : this.quiet + 1;
    if (this.quiet >= QUIET) this.end();
  }

  async end() {
    const frames = this.frames;
    this.frames = [];
    this.speaking = false;
    this.quiet = 0;
    if (frames.length < SHORTEST + QUIET || frames.length > LONGEST) return;
    const sound = new Int16Array(frames.length * frames[0].length);
    frames.forEach((frame, i) => sound.set(frame, i * frame.length));
    this.waiting = sound; // the latest counts: what was said before it is answered by nobody any more
    if (this.busy) return;
    this.busy = true;
    try {
      while (this.waiting && this.on) {
        const next = this.waiting;
        this.waiting = null;
        await this.phrase(next);
      }
    } finally {
      this.busy = false;
    }
  }
}
