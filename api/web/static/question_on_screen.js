// The question on the screen, and which question a press was meant for.
//
// Boards come while a finger is on its way. A press counts for the question that stood there when it was begun, or it
// is said that it did not count: never for another one that took its place meanwhile.

import { element } from "./element.js";

// Nobody reads a question and answers it in less: a press that soon was meant for what stood there before.
// From memory: to see, choose and press takes people half a second and more.
const READ_MS = 500;
const CLICK_MS = 300; // a screen that is touched tells the click so long after the finger has left it
const HELD_MOST_MS = 3000; // a finger that never left, as far as the browser told, holds nothing up for longer

export class QuestionOnScreen {
  /**
   * @param {HTMLElement} place
   * @param {(put: object, reply: object) => void} answer is given the question and the reply that was pressed
   * @param {() => void} tooSoon is called for a press that was meant for another question, or for none
   */
  constructor(place, answer, tooSoon) {
    Object.assign(this, { place, answer, tooSoon });
    this.put = null; // as drawn
    this.wanted = null; // to be drawn once no finger is on it
    this.changed = -Infinity;
    this.held = false;
    this.early = false; // the finger went down too soon
    place.addEventListener("pointerdown", () => this.hold());
    for (const over of ["pointerup", "pointercancel"]) {
      document.addEventListener(over, () => this.held && this.releaseIn(CLICK_MS));
    }
  }

  /** Show a question, or none; what a finger is on stays until it has left. */
  show(put) {
    this.wanted = put ?? null;
    if (!this.held) this.draw();
  }

  /** Take a key that stands for a reply. */
  key(key) {
    const reply = this.put?.replies.find((one, i) => keyOf(one, i) === key);
    if (this.justChanged()) this.tooSoon();
    else if (reply) this.answer(this.put, reply);
  }

  hold() {
    this.held = true;
    this.early = this.justChanged();
    this.releaseIn(HELD_MOST_MS);
  }

  releaseIn(milliseconds) {
    clearTimeout(this.releasing);
    this.releasing = setTimeout(() => this.release(), milliseconds);
  }

  release() {
    clearTimeout(this.releasing);
    this.held = this.early = false;
    this.draw();
  }

  justChanged() {
    return performance.now() - this.changed < READ_MS;
  }

  draw() {
    // Drawn anew only where it changed: it is not to be read out twice.
    if (JSON.stringify(this.wanted) === JSON.stringify(this.put)) return;
    if (asks(this.wanted) !== asks(this.put)) this.changed = performance.now();
    this.put = this.wanted;
    this.place.replaceChildren(...(this.put ? [this.drawn(this.put)] : []));
  }

  drawn(put) {
    const replies = put.replies.map((reply, i) => {
      const key = keyOf(reply, i);
      const button = element("button", { type: "button", class: "reply", "data-words": reply.words, "aria-keyshortcuts": key });
      button.append(reply.label, " ", element("kbd", {}, key));
      button.addEventListener("click", () => {
        // Of a finger it counts when it went down, of Enter on the button when it was struck.
        const early = this.held ? this.early : this.justChanged();
        if (early) this.tooSoon();
        else this.answer(put, reply);
        if (this.held) this.release();
      });
      return button;
    });
    return element(
      "div",
      { class: put.now ? "asked" : "asked open", "data-entry": put.entry },
      element("p", { class: "ask" }, element("span", { class: "symbol", "aria-hidden": "true" }, "?"), ` ${put.text}`),
      element("div", { class: "replies" }, ...replies),
    );
  }
}

function keyOf(reply, place) {
  return { yes: "y", no: "n" }[reply.words] ?? String(place + 1);
}

/** What is asked and may be answered; whether the next words may answer it changes nothing for a press. */
function asks(put) {
  return put ? JSON.stringify([put.entry, put.text, put.replies]) : "";
}
