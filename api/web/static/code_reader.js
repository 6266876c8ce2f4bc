// Looks for QR codes in what a camera sees: by the browser where it can read them, else by the server. Frames are
// kept nowhere.

const PAUSE_MS = 150; // between two looks
const SAME_MS = 4000; // a code that is held still is told once
const STILL_HELD_MS = 2500; // after a page begins
const WIDEST = 1280; // pixels of a frame that the server gets

async function ownDetector() {
  try {
    const known = await window.BarcodeDetector?.getSupportedFormats();
    return known?.includes("qr_code") ? new window.BarcodeDetector({ formats: ["qr_code"] }) : null;
  } catch {
    return null; // named, but not there on this machine
  }
}

export class CodeReader {
  /**
   * @param {HTMLVideoElement} video shows what the camera sees
   * @param {(text: string) => void} seen is given the text of a code
   * @param {(why: string) => void} blind is told why nothing can be seen, or ""
   * @param {(text: string) => boolean} old which codes, seen at the very beginning, are still held up from the page before
   */
  constructor(video, seen, blind, old = () => false) {
    Object.assign(this, { video, seen, blind, old });
    this.canvas = document.createElement("canvas");
    this.told = new Map(); // text -> when it was told
    this.on = false;
  }

  /** Begin by itself where this browser was allowed before; a page must not ask unasked. */
  async startIfAllowed() {
    try {
      const { state } = await navigator.permissions.query({ name: "camera" });
      if (state === "granted") await this.start();
    } catch {
      // A browser that cannot say: the button is there.
    }
  }

  async start() {
    if (this.on) return;
    try {
      if (!navigator.mediaDevices) throw new Error("this page needs https, or localhost, for the camera");
      const video = { facingMode: "environment", width: { ideal: 1280 }, height: { ideal: 720 } };
      this.stream = await navigator.mediaDevices.getUserMedia({ video });
    } catch (error) {
      this.blind(`no camera: ${error.message || error.name}`);
      return;
    }
    this.on = true;
    this.since = performance.now();
    const [track] = this.stream.getVideoTracks();
    track.onended = () => { this.stop(); this.blind("the camera was unplugged or switched off"); };
    this.video.srcObject = this.stream;
    await this.video.play();
    this.detector = await ownDetector();
    this.blind("");
    this.look();
  }

  stop() {
    this.on = false;
    this.stream?.getTracks().forEach((track) => track.stop());
    this.video.srcObject = null;
  }

  async look() {
    while (this.on) {
      if (this.video.videoWidth) {
        try {
          const texts = this.detector ? await this.readHere() : await this.readThere();
          this.blind("");
          texts.forEach((text) => this.tell(text));
        } catch (error) {
          if (this.on) this.blind(`no connection: ${error.message}`);
        }
      }
      await new Promise((done) => setTimeout(done, PAUSE_MS));
    }
  }

  tell(text) {
    const now = performance.now();
    const before = this.told.get(text) ?? -SAME_MS;
    this.told.set(text, now); // held on it stays told
    if (this.old(text) && now - this.since < STILL_HELD_MS) return;
    if (this.on && now - before >= SAME_MS) this.seen(text);
  }

  async readHere() {
    return (await this.detector.detect(this.video)).map((code) => code.rawValue).filter(Boolean);
  }

  async readThere() {
    const share = Math.min(1, WIDEST / this.video.videoWidth);
    this.canvas.width = Math.round(this.video.videoWidth * share);
    this.canvas.height = Math.round(this.video.videoHeight * share);
    this.canvas.getContext("2d").drawImage(this.video, 0, 0, this.canvas.width, this.canvas.height);
    const frame = await new Promise((done) => this.canvas.toBlob(done, "image/jpeg", 0.9));
    const answer = await fetch("/codes", { method: "POST", headers: { accept: "application/json" }, body: frame });
    if (answer.status === 503) return []; // busy with another bench's frame
    if (!answer.ok) throw new Error(`the server answers ${answer.status}`);
    return (await answer.json()).codes;
  }
}

/** Whether a code is a badge of ours; what it says is checked by the server. */
export function isBadge(text) {
  return /^WM\d+\/badge\//.test(text);
}

/** Whether a code is a job's tag of ours. */
export function isJobTag(text) {
  return /^WM\d+\/job\//.test(text);
}
