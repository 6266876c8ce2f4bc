// Talk between bench and tool on the screen: the question put, what was answered, what is wanted before the pump is
// closed up, cautions and advice; and large buttons and keys that have the same effect as the words.

import { element } from "./element.js";
import { QuestionOnScreen } from "./question_on_screen.js";

const ANSWER_MS = 25000; // so long an answer stays in large type; what was answered is in the record all the same
const CAUTION_MS = 40000;
const MOST_ROWS = 9;
const orders = { last: "", paused: false };
let send = () => false;
let answerTimer = 0;
let cautionTimer = 0;

function press(order, more = {}) {
  if (!send({ order, ...more })) nothingTook();
}

/** Say that a press did nothing, so that nobody relies on it. */
export function nothingTook(why = "nothing is recording here; press Listen, or say it") {
  showAnswer({ title: "Not taken", rows: [why], cautions: [] });
}

const asked = new QuestionOnScreen(
  document.getElementById("questions"),
  (put, reply) => press("answer", { about: put.entry, words: reply.words }),
  () => nothingTook("the question had only just changed; look at it and press again"),
);

function advice(one) {
  return element(
    "details",
    { class: "advice" },
    element("summary", {}, `Advice: ${one.about}`),
    element("p", {}, one.text),
    element("p", { class: "source" }, `${one.formula}. ${one.sources.join("; ")}`),
    ...one.cautions.map((text) => element("p", { class: "source" }, text)),
    element("p", { class: "source" }, one.holds),
  );
}

/** Show as many rows as leave room for the last entry; the side column has them all. */
function rowsInto(id, rows) {
  const shown = rows.length > MOST_ROWS ? [...rows.slice(0, MOST_ROWS - 1), `and ${rows.length - MOST_ROWS + 1} more, at the side`] : rows;
  document.getElementById(id).replaceChildren(...shown.map((text) => element("li", {}, text)));
}

/** Show what of a board is talk. */
export function showTalk(board) {
  asked.show(board.put);
  Object.assign(orders, { last: board.last, paused: board.paused });
  const pause = document.getElementById("order-pause");
  pause.firstChild.textContent = board.paused ? "Go on " : "Pause ";
  document.getElementById("order-strike").disabled = !board.last;
  document.getElementById("order-restore").disabled = !board.struck_last;
  document.getElementById("closing").hidden = !board.closing?.length;
  rowsInto("closing-rows", board.closing ?? []);
  const shown = document.getElementById("advice");
  const text = JSON.stringify(board.advice);
  if (shown.dataset.drawn !== text) {
    shown.dataset.drawn = text;
    shown.replaceChildren(...board.advice.map(advice));
    const first = shown.querySelector("details");
    if (first) first.open = true;
  }
  const up = new Set(board.cautions.filter((one) => one.up).map((one) => one.text));
  for (const row of document.querySelectorAll(".cautions li")) row.classList.toggle("up", up.has(row.textContent));
}

/** Show in large type what was answered, and each caution that it brought up. */
export function showAnswer({ title, rows, cautions }) {
  if (title) {
    const place = document.getElementById("answer");
    place.querySelector("h2").textContent = title;
    rowsInto("answer-rows", rows);
    place.hidden = false;
    clearTimeout(answerTimer);
    answerTimer = setTimeout(() => { place.hidden = true; }, ANSWER_MS);
  }
  if (cautions.length) {
    const place = document.getElementById("caution-now");
    rowsInto("caution-rows", cautions);
    place.hidden = false;
    clearTimeout(cautionTimer);
    cautionTimer = setTimeout(() => { place.hidden = true; }, CAUTION_MS);
  }
}

function pauseOrGoOn() {
  press(orders.paused ? "resume" : "pause");
}

const KEYS = {
  h: pauseOrGoOn,
  w: () => press("left"),
  r: () => press("read_back"),
  s: () => orders.last && press("strike", { about: orders.last }),
  u: () => press("restore"),
};

/** @param {(press: object) => boolean} sender sends a press; false where it cannot */
export function wireOrders(sender) {
  send = sender;
  for (const [key, act] of Object.entries(KEYS)) {
    document.querySelector(`.orders [aria-keyshortcuts="${key}"]`).addEventListener("click", act);
  }
  for (const id of ["answer", "caution-now"]) {
    document.querySelector(`#${id} button`).addEventListener("click", () => { document.getElementById(id).hidden = true; });
  }
  document.addEventListener("keydown", (event) => {
    if (event.repeat || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("input, select, textarea")) return;
    if (document.querySelector('[data-mode="choose"]')) return; // the keys choose what is photographed
    if (/^[1-4yn]$/.test(event.key)) asked.key(event.key);
    else KEYS[event.key]?.();
  });
}
