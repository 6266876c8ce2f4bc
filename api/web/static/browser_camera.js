// The camera of this browser: switched on when a picture is wanted, off again soon after.

const WANTED = { facingMode: "environment", width: { ideal: 1920 }, height: { ideal: 1080 } };
const SETTLE_MS = 700; // a camera just switched on finds its light and focus first
const BURST = 6;
const BURST_MS = 1000;
const OFF_MS = 45000; // and then its lamp goes out

export class BrowserCamera {
  /** @param {HTMLVideoElement} video shows what it sees */
  constructor(video) {
    this.video = video;
    this.stream = null;
  }

  /** Switch on; throws an Error whose message people can read. */
  async on() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.off(), OFF_MS);
    if (this.stream?.getVideoTracks()[0]?.readyState === "live") return;
    if (!navigator.mediaDevices) throw new Error("this page needs https, or localhost, for the camera");
    try {
      this.stream = await navigator.mediaDevices.getUserMedia({ video: WANTED });
    } catch (error) {
      throw new Error(said(error));
    }
    this.stream.getVideoTracks()[0].onended = () => this.off();
    this.video.srcObject = this.stream;
    await this.video.play();
    await pause(SETTLE_MS);
  }

  off() {
    clearTimeout(this.timer);
    this.stream?.getTracks().forEach((track) => track.stop());
    this.stream = null;
    this.video.srcObject = null;
  }

  /** Take several pictures within a second; returns them as JPEG. */
  async burst() {
    await this.on();
    const { videoWidth: width, videoHeight: height } = this.video;
    if (!width) throw new Error("the camera gives no picture");
    const pictures = [];
    for (let i = 0; i < BURST; i++) {
      if (i) await pause(BURST_MS / (BURST - 1));
      if (!this.stream) throw new Error("the camera was unplugged");
      const canvas = document.createElement("canvas");
      Object.assign(canvas, { width, height });
      canvas.getContext("2d").drawImage(this.video, 0, 0);
      pictures.push(new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.94)));
    }
    return (await Promise.all(pictures)).filter(Boolean);
  }
}

/** Tell whether this browser lets this page use its camera without asking. */
export async function cameraAllowed() {
  try {
    return (await navigator.permissions.query({ name: "camera" })).state === "granted";
  } catch {
    return false; // a browser that does not tell
  }
}

function said(error) {
  if (error.name === "NotAllowedError") return "this browser was not allowed the camera";
  if (error.name === "NotFoundError" || error.name === "OverconstrainedError") return "this browser has no camera";
  if (error.name === "NotReadableError") return "another program has the camera";
  return `no camera: ${error.message || error.name}`;
}

function pause(ms) {
  return new Promise((resolve) => setTimeout(resolve, ms));
}
