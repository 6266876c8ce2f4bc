// A witness gives his PIN or secret beside his badge: on large keys in gloves, or at the keyboard.

const FORGOTTEN_MS = 60000; // a badge that nobody follows up does not stay on a bench's screen

const place = (id) => document.getElementById(id);

export class Witness {
  /** @param {(asked: {code: string, step: string}, word: string) => Promise<string>} give tells the server; returns why not, or "" */
  constructor(give) {
    this.give = give;
    this.asked = null;
    this.form = place("witness");
    this.word = place("witness-word");
    this.form.addEventListener("submit", (event) => { event.preventDefault(); this.release(); });
    this.form.addEventListener("click", ({ target }) => {
      const figure = target.closest("[data-figure]")?.dataset.figure;
      if (figure) this.put(this.word.value + figure);
    });
    this.form.addEventListener("keydown", (event) => { if (event.key === "Escape") this.forget(); });
    this.form.addEventListener("input", () => this.stay());
    place("witness-back").addEventListener("click", () => this.put(this.word.value.slice(0, -1)));
    place("witness-letters").addEventListener("click", () => {
      this.word.inputMode = "text"; // a tablet shows its own keyboard
      this.word.blur();
      this.word.focus();
    });
    place("witness-cancel").addEventListener("click", () => this.forget());
  }

  /** Ask for it. A badge that is still held up is asked about once. */
  ask(name, code, step) {
    if (this.asked?.code === code && this.asked.step === step) return;
    this.forget();
    this.asked = { code, step };
    place("witness-who").textContent = name;
    this.form.hidden = false;
    this.form.scrollIntoView({ block: "nearest" });
    this.word.focus();
    this.stay();
  }

  put(text) {
    this.word.value = text.slice(0, this.word.maxLength);
    this.stay();
  }

  stay() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.forget(), FORGOTTEN_MS);
  }

  async release() {
    const word = this.word.value;
    if (!word || !this.asked || this.busy) return;
    const asked = this.asked;
    this.word.value = "";
    this.busy = true;
    place("witness-did").textContent = "Looking…";
    const why = await this.give(asked, word);
    this.busy = false;
    if (this.asked !== asked) return; // another badge meanwhile
    place("witness-did").textContent = why;
    if (why === "") this.forget();
    else this.word.focus();
  }

  forget() {
    clearTimeout(this.timer);
    this.asked = null;
    this.word.value = "";
    this.word.inputMode = "none";
    place("witness-did").textContent = "";
    this.form.hidden = true;
  }
}
