// Pictures on their way to the server: each is in this browser's own database until the server has it.

const NAME = "witnessmark-pictures";
const AGAIN_MS = 5000;

function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

export class PicturePost {
  /**
   * @param {string} path that pictures are posted to
   * @param {string} token of this session's forms
   * @param {(judged: object) => void} judged is given what the server says of each
   * @param {(line: string) => void} failed is told in one line what keeps one from it, or "" for nothing
   */
  constructor(path, token, judged, failed) {
    Object.assign(this, { path, token, judged, failed, sending: false });
  }

  async open() {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore("bursts", { autoIncrement: true });
    this.database = await asked(request);
    await this.send(); // what an earlier page could not
  }

  bursts(mode) {
    return this.database.transaction("bursts", mode).objectStore("bursts");
  }

  /** Keep a burst and send it; fields as the server wants them. */
  async add(fields, pictures) {
    await asked(this.bursts("readwrite").add({ path: this.path, fields, pictures, taken: Date.now() }));
    await this.send();
  }

  async send() {
    if (this.sending) return;
    this.sending = true;
    clearTimeout(this.timer);
    try {
      const store = this.bursts("readonly");
      const [keys, bursts] = await Promise.all([asked(store.getAllKeys()), asked(store.getAll())]);
      for (const [i, burst] of bursts.entries()) {
        if (burst.path !== this.path) continue;
        if (!(await this.sendOne(burst))) {
          this.timer = setTimeout(() => this.send(), AGAIN_MS);
          break;
        }
        await asked(this.bursts("readwrite").delete(keys[i]));
      }
    } finally {
      this.sending = false;
    }
  }

  /** Send one; false where it is to be tried again. */
  async sendOne({ fields, pictures, taken }) {
    const form = new FormData();
    for (const [name, value] of Object.entries(fields)) if (value) form.set(name, value);
    form.set("age_s", Math.max(0, (Date.now() - taken) / 1000).toFixed(1));
    pictures.forEach((picture, i) => form.append("burst", picture, `${i}.jpg`));
    let answer;
    try {
      const headers = { "x-form-token": this.token, accept: "application/json" };
      answer = await fetch(this.path, { method: "POST", body: form, headers });
    } catch {
      this.failed("no connection: the picture is kept in this browser and sent when the server is back");
      return false;
    }
    const told = await answer.json().catch(() => null);
    if (answer.ok && told) {
      this.failed("");
      this.judged(told);
      return true;
    }
    this.failed(told?.error?.what ?? `the server answers ${answer.status}`);
    // What it will never take is not sent again.
    return [404, 409, 413, 422].includes(answer.status);
  }
}
