// The line to the server: frames go out in order from the one it wants next, and are forgotten once it has
// them on disk. Broken, it is made again by itself, and goes on where the server says.

const WAITS_MS = [500, 1000, 2000, 4000];
const QUIET_MS = 8000; // with frames under way and no word from the server for so long, the line is dead
const BUSY_MS = 3000; // another browser sends: it may be one that was just closed
const LOST_MS = 2000; // asked for the same frame for so long: it got lost on the way

export class BenchLine {
  /**
   * @param {string} path of the web socket
   * @param {FrameStore} store
   * @param {object} settings of the microphone
   * @param {(message: object) => void} told is given every message of the server
   * @param {(state: {up: boolean, waiting: number}) => void} changed is told how the line is
   */
  constructor(path, store, settings, told, changed) {
    Object.assign(this, { path, store, settings, told, changed });
    this.recording = null; // which frames belong together
    this.next = 0; // number of the next frame that is made
    this.safe = 0; // number of the first frame that the server does not have
    this.sent = 0; // number of the next frame to send
    this.early = []; // made before the server said which number is next
    this.unkept = new Map(); // frames that this browser's database would not take, by number
    this.moved = 0; // when the server last had more than before
    this.tries = 0;
    this.over = false;
    this.sending = false;
    this.client = ownClient();
    this.takesOver = false;
    this.elsewhere = false; // another browser sends: what this one hears belongs to no recording
    this.connect();
    setInterval(() => this.watch(), 2000);
  }

  connect() {
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    this.socket = new WebSocket(`${scheme}://${location.host}${this.path}`);
    this.socket.binaryType = "arraybuffer";
    this.ready = false;
    this.socket.onopen = () => this.socket.send(JSON.stringify(this.start()));
    this.socket.onmessage = (event) => this.hear(JSON.parse(event.data));
    this.socket.onclose = (event) => this.lost(event);
  }

  start() {
    const { settings, client, takesOver } = this;
    this.takesOver = false;
    return { type: "start", settings, client, take_over: takesOver };
  }

  /** Send for this job from here, though another browser does. */
  takeOver() {
    clearTimeout(this.again);
    this.takesOver = true;
    this.over = this.elsewhere = false;
    this.connect();
  }

  async hear(message) {
    this.spoke = performance.now();
    if (message.type === "recording") this.elsewhere = false;
    if (message.type === "recording") await this.began(message);
    if (message.type === "safe") await this.haveSafe(message.next);
    if (["ended", "refused", "taken_over"].includes(message.type)) this.over = true;
    if (["busy", "taken_over"].includes(message.type)) {
      this.elsewhere = true;
      this.early = [];
    }
    this.told(message);
  }

  async haveSafe(next) {
    const now = performance.now();
    if (next > this.safe) {
      this.safe = next;
      this.moved = now;
      // What was to be sent again may have arrived meanwhile, and is forgotten below.
      this.sent = Math.max(this.sent, next);
    } else if (next === this.safe && next < this.sent && now - this.moved > LOST_MS) {
      this.moved = now;
      this.sent = next;
      this.pump();
    }
    await this.forget(this.safe);
    this.tell();
  }

  async began(message) {
    const recording = `${this.path}#${message.number}`;
    const last = recording === this.recording ? -1 : await this.store.last(recording);
    if (recording !== this.recording) {
      this.recording = recording;
      this.next = last + 1;
    }
    this.next = Math.max(this.next, message.next); // another browser sent meanwhile
    // Numbered in one go, nothing awaited since it was known from where on: frames go on being made.
    const early = this.early.splice(0).map((samples) => this.add(samples));
    await this.forget(message.next);
    this.safe = this.sent = message.next;
    this.moved = performance.now();
    this.tries = 0;
    this.ready = true;
    await Promise.all(early);
    this.tell();
    this.pump();
  }

  /** Take a frame that was just made: into the database first, then on its way. */
  async add(samples) {
    if (this.elsewhere) return;
    if (this.recording === null) {
      this.early.push(samples);
      return;
    }
    const number = this.next++;
    try {
      await this.store.put(this.recording, number, samples);
    } catch {
      this.unkept.set(number, samples); // the disk of this browser is full: it stays in memory until it is sent
    }
    this.tell();
    this.pump();
  }

  async pump() {
    if (this.sending) return;
    this.sending = true;
    try {
      while (this.ready && this.socket.readyState === WebSocket.OPEN && this.socket.bufferedAmount < 1 << 18) {
        const frames = await this.frames();
        if (!frames.length || frames[0].number !== this.sent) break;
        for (const { number, samples } of frames) {
          if (number !== this.sent || !this.ready) break;
          this.socket.send(packed(number, samples));
          this.sent = number + 1;
        }
      }
    } finally {
      this.sending = false;
    }
  }

  /** Return frames to send next, in order. */
  async frames() {
    const number = this.sent;
    if (this.unkept.has(number)) return [{ number, samples: this.unkept.get(number) }];
    return this.store.from(this.recording, number);
  }

  /** Send the press of a button or key; false where there is no line, and nothing was sent. */
  press(press) {
    if (!this.ready || this.socket.readyState !== WebSocket.OPEN) return false;
    this.socket.send(JSON.stringify({ type: "press", ...press }));
    return true;
  }

  /** Have the server's microphone take silence while this bench speaks. */
  mask(masked) {
    if (this.ready && this.socket.readyState === WebSocket.OPEN) this.socket.send(masked ? "mask" : "unmask");
  }

  async forget(before) {
    for (const number of this.unkept.keys()) if (number < before) this.unkept.delete(number);
    await this.store.forget(this.recording, before);
  }

  watch() {
    if (this.over || this.socket.readyState !== WebSocket.OPEN) return;
    if (this.safe < this.next) {
      this.socket.send("flush");
      if (performance.now() - this.spoke > QUIET_MS) this.socket.close();
      else this.pump();
    }
  }

  lost(event) {
    this.ready = false;
    const busy = this.elsewhere && !this.over;
    if (!busy && (event.code >= 4400 || event.code === 1008)) this.over = true;
    this.tell();
    if (this.over) return;
    const wait = busy ? BUSY_MS : WAITS_MS[Math.min(this.tries++, WAITS_MS.length - 1)];
    this.again = setTimeout(() => this.connect(), wait);
  }

  tell() {
    this.changed({ elsewhere: this.elsewhere, up: this.ready, waiting: this.next - this.safe + this.early.length });
  }
}

/** By what this page is known again after a reload: it then goes on without asking. */
function ownClient() {
  const kept = sessionStorage.getItem("client");
  if (kept) return kept;
  const made = [...crypto.getRandomValues(new Uint8Array(16))].map((n) => n.toString(16).padStart(2, "0")).join("");
  sessionStorage.setItem("client", made);
  return made;
}

function packed(number, samples) {
  const data = new ArrayBuffer(8 + 2 * samples.length);
  const view = new DataView(data);
  view.setBigUint64(0, BigInt(number));
  new Uint8Array(data, 8).set(new Uint8Array(samples.buffer, samples.byteOffset, 2 * samples.length));
  return data;
}
