// Clips one after the other, by keyboard or by one press: the next begins when one ends.

const player = document.getElementById("player");
const told = document.getElementById("playing");
const clips = [...document.querySelectorAll(".clip[data-sound]")];
let at = -1;
let inARow = false;

function show() {
  clips.forEach((clip, i) => clip.classList.toggle("now", i === at));
  if (at < 0) return;
  told.textContent = `${at + 1} of ${clips.length}`;
  clips[at].scrollIntoView({ block: "nearest" });
}

function play(to) {
  if (to < 0 || to >= clips.length) {
    inARow = false;
    told.textContent = "That was all.";
    return;
  }
  at = to;
  show();
  player.src = clips[at].dataset.sound;
  player.play().catch(() => {}); // a newer clip was asked for
}

const KEYS = {
  j: () => play(at + 1),
  k: () => play(Math.max(0, at - 1)),
  " ": () => {
    if (at < 0) {
      inARow = true;
      play(0);
    } else if (player.paused) player.play().catch(() => {});
    else player.pause();
  },
};

document.getElementById("play-all")?.addEventListener("click", () => {
  inARow = true;
  play(0);
});
document.addEventListener("click", (event) => {
  const button = event.target.closest(".clip .play");
  if (!button) return;
  inARow = false;
  play(clips.indexOf(button.closest(".clip")));
});
document.addEventListener("keydown", (event) => {
  if (event.target.matches("input, select, textarea, button, summary, a") && event.key === " ") return;
  if (event.target.matches("input, select, textarea") || event.ctrlKey || event.altKey || event.metaKey) return;
  const act = KEYS[event.key];
  if (!act) return;
  event.preventDefault();
  if (event.key !== " ") inARow = true;
  act();
});
player.addEventListener("ended", () => {
  if (inARow) play(at + 1);
});
player.addEventListener("error", () => {
  if (at < 0 || !player.getAttribute("src")) return;
  told.textContent = `${at + 1} of ${clips.length}: this sound is not kept any more`;
  if (inARow) play(at + 1);
});
