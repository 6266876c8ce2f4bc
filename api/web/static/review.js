// The review by keyboard: entries one after the other, each with its second of sound.

const player = document.getElementById("player");
const wave = document.getElementById("wave");
const rows = [...document.querySelectorAll("ol.rows > .row")];
const PLACE = `review-at-${location.pathname}`;
let shownPeaks = [];

function draw() {
  const context = wave.getContext("2d");
  const { width, height } = wave;
  context.clearRect(0, 0, width, height);
  const played = player.duration ? player.currentTime / player.duration : 0;
  shownPeaks.forEach(([low, high], i) => {
    const x = (i / shownPeaks.length) * width;
    context.fillStyle = i / shownPeaks.length < played ? "#17406d" : "#8a8a8a";
    const top = (0.5 - high / 2) * height;
    context.fillRect(x, top, Math.max(1, width / shownPeaks.length - 1), Math.max(1, ((high - low) / 2) * height));
  });
}

async function play(button) {
  player.src = button.dataset.sound;
  player.play().catch(() => {}); // a newer clip was asked for
  const answer = await fetch(button.dataset.peaks);
  shownPeaks = answer.ok ? await answer.json() : [];
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

const KEYS = {
  j: (at) => go(at + 1),
  k: (at) => go(at - 1),
  p: (at) => rows[at]?.querySelector(".play")?.click(),
  a: (at) => rows[at]?.querySelector(".accept")?.click(),
  x: (at) => rows[at]?.querySelector(".strike")?.click(),
  c: (at) => {
    const details = rows[at]?.querySelector(".correct");
    if (!details) return;
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
// After a decision the page comes back: go on where the reviewer was.
document.addEventListener("submit", () => sessionStorage.setItem(PLACE, String(current())));
player.addEventListener("timeupdate", draw);
go(Number(sessionStorage.getItem(PLACE) ?? 0));
