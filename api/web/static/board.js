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
      element("p", { class: "heard" }, `“${one.heard}”`),
    ),
  );
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
