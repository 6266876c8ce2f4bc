// Hits are played one by one or in a row, from the keyboard as well.
const player = document.getElementById("player");
const ONE = ".hits > li, .pictures > li";
const hits = [...document.querySelectorAll(ONE)];
const playable = hits.filter((hit) => hit.querySelector(".play"));
// In a row what was said; what was said around a picture is asked for one by one.
const sounding = playable.filter((hit) => hit.parentElement.matches(".hits"));
let row = [];

function show(hit) {
  for (const other of hits) other.classList.toggle("playing", other === hit);
  if (hit) hit.scrollIntoView({ block: "nearest" });
}

function play(hit) {
  show(hit);
  player.src = hit.querySelector(".play").dataset.sound;
  player.play().catch(() => {}); // another was asked for meanwhile
}

function next() {
  const hit = row.shift();
  if (hit) play(hit);
  else silence();
}

function silence() {
  row = [];
  player?.pause();
  show(null);
}

function playAll() {
  const from = sounding.indexOf(document.activeElement);
  row = sounding.slice(Math.max(from, 0));
  next();
}

function step(by) {
  const at = hits.indexOf(document.activeElement.closest?.(ONE));
  hits[Math.min(Math.max(at + by, 0), hits.length - 1)]?.focus();
}

player?.addEventListener("ended", next);
player?.addEventListener("error", next); // one whose sound is gone meanwhile must not end the row
for (const hit of playable) {
  hit.querySelector(".play").addEventListener("click", () => {
    row = [];
    play(hit);
  });
}

const all = document.getElementById("all");
if (all && sounding.length) {
  all.hidden = false;
  all.addEventListener("click", playAll);
}
if (hits.length) document.getElementById("keys").hidden = false;

const KEYS = {
  ArrowDown: () => step(1),
  ArrowUp: () => step(-1),
  p: () => document.activeElement.closest?.(ONE)?.querySelector(".play")?.click(),
  a: () => sounding.length && playAll(),
  Escape: silence,
  "/": () => document.querySelector("input[name=q]").focus(),
};

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea")) return;
  const act = KEYS[event.key.length === 1 ? event.key.toLowerCase() : event.key];
  if (!act) return;
  event.preventDefault();
  act();
});

// On a phone what was found comes first; what it is narrowed by stays a touch away.
const narrow = document.getElementById("narrow");
if (matchMedia("(max-width: 40rem)").matches && !("chosen" in narrow.dataset)) narrow.open = false;
