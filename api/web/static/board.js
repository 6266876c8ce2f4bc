// The board on the screen. All text is set as text: nothing that was said is ever markup.

import { element } from "./element.js";
import { showTalk } from "./talk.js";

function line(one) {
  return element(
    "li",
    { class: `line ${one.mark}${one.provisional ? " provisional" : ""}`, "data-id": one.id },
    element("span", { class: "symbol", "aria-hidden": "true" }, one.symbol),
    element(
      "div",
      {},
      element("p", { class: "what" }, one.what),
      element("p", { class: "value" }, one.value, " ", element("b", { class: "word" }, one.word)),
      one.limits ? element("p", { class: "limits" }, one.limits) : "",
      element("p", { class: "heard" }, one.provisional ? "being heard: may still change" : `“${one.heard}”`),
    ),
  );
}

const HEARD_S = 0.5; // the final hearing of a phrase ends about where the early one ended
let early = { lines: [], ended_s: 0 };

/** Show what the last words seem to say, until they are heard to the end; never announced, never spoken. */
export function showEarly(message) {
  early = message;
  document.getElementById("early").replaceChildren(...early.lines.map(line));
}

/** Take away what was shown early of words that were heard to the end by now, or that came to nothing. */
export function heardUntil(seconds) {
  if (early.ended_s - HEARD_S <= seconds) showEarly({ lines: [], ended_s: 0 });
}

export function showBoard(board) {
  document.getElementById("lines").replaceChildren(...board.lines.map(line));
  showTalk(board);
  document.getElementById("asked-count").textContent = String(board.questions.length);
  document.getElementById("left").replaceChildren(...board.left.map((text) => element("li", {}, text)));
  document.getElementById("left-count").textContent = String(board.left.length);
  document.getElementById("readings-count").textContent = String(board.readings);
  document.getElementById("deviations-count").textContent = String(board.deviations);
  document.body.classList.toggle("paused", board.paused);
  document.body.classList.toggle("finished", board.finished);
}
