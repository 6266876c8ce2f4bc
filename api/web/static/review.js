// The review by keyboard: entries one after the other, each with its second of sound. Hundreds of entries have to be
// there at once: what is needed of one only (its correction) is made when it is asked for.

import { element } from "/static/element.js";

const player = document.getElementById("player");
const wave = document.getElementById("wave");
const rows = [...document.querySelectorAll("ol.rows > .row")];
const PLACE = `review-at-${location.pathname}`;
let shownPeaks = [];
let hint = "An entry's sound is drawn here (p)";

function draw() {
  const context = wave.getContext("2d");
  if (wave.width !== wave.clientWidth) wave.width = wave.clientWidth; // otherwise words and lines are stretched
  const { width, height } = wave;
  context.clearRect(0, 0, width, height);
  if (!shownPeaks.length) {
    context.fillStyle = "#4d4d4d";
    context.font = "18px system-ui, sans-serif";
    context.fillText(hint, 16, height / 2 + 6);
  }
  const played = player.duration ? player.currentTime / player.duration : 0;
  shownPeaks.forEach(([low, high], i) => {
    const x = (i / shownPeaks.length) * width;
    context.fillStyle = i / shownPeaks.length < played ? "#17406d" : "#8a8a8a";
    const top = (0.5 - high / 2) * height;
    context.fillRect(x, top, Math.max(1, width / shownPeaks.length - 1), Math.max(1, ((high - low) / 2) * height));
  });
}

async function play(button) {
  const { recording, span } = button.dataset;
  player.src = `${location.pathname}/sound/${recording}.wav?${span}`;
  player.play().catch(() => {}); // a newer clip was asked for
  const answer = await fetch(`${location.pathname}/peaks/${recording}?${span}`);
  shownPeaks = answer.ok ? await answer.json() : [];
  if (!shownPeaks.length) hint = "There is no sound of this entry";
  draw();
}

function current() {
  return rows.indexOf(document.activeElement?.closest?.("ol.rows > .row"));
}

function go(to) {
  const row = rows[Math.max(0, Math.min(rows.length - 1, to))];
  if (!row) return;
  row.focus();
  row.scrollIntoView({ block: "center" });
}

function field([name, value, list]) {
  if (list === null) return element("input", { name: `field.${name}`, value, maxlength: 200 });
  const options = document.getElementById(`options-${list}`).content.cloneNode(true);
  const select = element("select", { name: `field.${name}` }, options);
  select.value = value;
  return select;
}

/** Make the form of a correction, once. */
function fill(details) {
  if (details.querySelector("form")) return;
  const all = document.getElementById("decide");
  const labels = JSON.parse(details.dataset.fields).map((one) => element("label", {}, one[0].replace("_exact", "").replaceAll("_", " "), field(one)));
  details.append(element(
    "form", { method: "post", action: all.getAttribute("action") },
    ...[...all.children].map((hidden) => hidden.cloneNode()),
    element("input", { type: "hidden", name: "entry", value: details.dataset.entry }),
    ...labels,
    element("label", {}, "Remark", element("input", { name: "remark", maxlength: 1000 })),
    element("button", { name: "decision", value: "corrected" }, "Keep the correction"),
  ));
}

const KEYS = {
  j: (at) => go(at + 1),
  k: (at) => go(at - 1),
  p: (at) => rows[at]?.querySelector(".play")?.click(),
  a: (at) => rows[at]?.querySelector(".accept")?.click(),
  x: (at) => rows[at]?.querySelector(".strike")?.click(),
  c: (at) => {
    const details = rows[at]?.querySelector(".correct");
    if (!details) return;
    fill(details);
    details.open = true;
    const first = details.querySelector("[name='field.value_exact']") ?? details.querySelector("select, input:not([type=hidden])");
    first.focus();
  },
};

document.addEventListener("keydown", (event) => {
  if (event.target.matches("input, select, textarea") || event.ctrlKey || event.altKey || event.metaKey) return;
  const act = KEYS[event.key];
  if (!act) return;
  event.preventDefault();
  act(current());
});
document.addEventListener("click", (event) => {
  const button = event.target.closest(".play");
  if (button) play(button);
});
// The event does not bubble; it comes before anything of what was opened is drawn.
document.addEventListener("toggle", (event) => event.target.matches(".correct[open]") && fill(event.target), true);
// After a decision the page comes back: go on where the reviewer was.
document.addEventListener("submit", () => sessionStorage.setItem(PLACE, String(current())));
player.addEventListener("timeupdate", draw);
addEventListener("resize", draw);
draw();
// A link to an entry leads there, whatever was looked at before.
const linked = rows.findIndex((row) => row.id && `#${row.id}` === location.hash);
go(linked >= 0 ? linked : Number(sessionStorage.getItem(PLACE) ?? 0));
// A browser tells of entries that are not laid out to nobody who has the page read out: lay out all, as there is time.
const whenIdle = window.requestIdleCallback ?? ((act) => setTimeout(act, 50));
const AT_ONCE = 12;
function layOut(from) {
  for (const row of rows.slice(from, from + AT_ONCE)) row.classList.add("laid-out");
  if (from + AT_ONCE < rows.length) whenIdle(() => layOut(from + AT_ONCE));
}
addEventListener("load", () => whenIdle(() => layOut(0)));
