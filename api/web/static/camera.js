// Pictures at the bench: chosen by hand or asked for aloud, taken, sent, shown large with what was judged.

import { BrowserCamera, cameraAllowed } from "./browser_camera.js";
import { PicturePost } from "./picture_post.js";

const SHOWN_MS = { usable: 15000, unusable: 40000 };
const place = document.getElementById("camera");
const job = document.body.dataset.job;
const camera = new BrowserCamera(document.getElementById("camera-view"));
const file = document.getElementById("camera-file");
const post = new PicturePost(
  `/bench/${job}/pictures`, document.querySelector("[name=form_token]").value, judged, tell,
);
const token = document.querySelector("[name=form_token]").value;
const state = { wanted: null, last: null, told: "", busy: false, server: place.dataset.serverCamera };

function shown(id, text) {
  document.getElementById(id).textContent = text;
}

function tell(line) {
  shown("camera-line", line);
  if (line) place.hidden = false;
}

/** Show one of: choose, aim, judged; "" for nothing at all. */
function mode(which) {
  clearTimeout(state.timer);
  place.hidden = !which;
  if (which) place.scrollIntoView({ block: place.offsetHeight < innerHeight / 2 ? "nearest" : "start" });
  place.dataset.mode = which;
  if (!which) camera.off();
}

async function choose() {
  mode("choose");
  shown("camera-title", "Picture of");
  tell("");
  place.querySelector(".choice")?.focus();
  if (state.server) tell(`taken by the ${state.server}`);
  else await camera.on().catch((error) => tell(`${error.message}: choose the part, then a file`));
}

/** Take a picture of something: {of, stage, asked, again, title}. */
async function take(wanted) {
  if (state.busy) return;
  state.busy = true;
  state.wanted = wanted;
  mode("aim");
  shown("camera-title", wanted.title);
  tell("");
  if (state.server && !wanted.trouble) {
    await takeByServer(wanted).finally(() => { state.busy = false; });
    return;
  }
  try {
    const pictures = await camera.burst();
    tell("looking at it …");
    await post.add(fields(wanted), pictures);
  } catch (error) {
    tell(`${error.message}: choose a file instead, or try again`);
  } finally {
    state.busy = false;
  }
}

/** Have the server's camera take it; where that gives nothing, this browser's may. */
async function takeByServer(wanted) {
  tell(`the ${state.server} takes it …`);
  const body = new URLSearchParams(Object.entries(fields(wanted)).filter(([, value]) => value));
  const headers = { "x-form-token": token, accept: "application/json" };
  const answer = await fetch(`/bench/${job}/server-camera`, { method: "POST", body, headers }).catch(() => null);
  const told = await answer?.json().catch(() => null);
  if (answer?.ok && told) judged(told);
  else failed(wanted, told?.error?.what ?? "no connection to the server");
}

/** Say what keeps the server's camera from it; Take then takes it with this browser's. */
function failed(wanted, trouble) {
  state.wanted = { ...wanted, trouble };
  mode("aim");
  shown("camera-title", wanted.title);
  tell(`${trouble}; Take takes it with this browser's camera`);
  document.dispatchEvent(new CustomEvent("say", { detail: { tone: "ask", say: "no picture: the camera does not answer" } }));
}

function fields({ of, stage, asked, again }) {
  return { of, stage, asked, again };
}

function judged(told) {
  const key = `${told.sha256}/${told.of}/${told.stage}/${told.asked}`;
  if (state.told === key) return; // over both ways
  state.told = key;
  state.last = told;
  const image = document.getElementById("camera-picture");
  image.src = `/bench/${job}/pictures/${told.picture}/${told.face ? "face" : "whole"}`;
  image.alt = `${told.title}, ${told.verdict}`;
  shown("camera-title", told.title);
  const verdict = document.getElementById("camera-verdict");
  verdict.className = told.usable ? "usable" : "unusable";
  verdict.textContent = `${told.usable ? "✓" : "✗"} ${told.verdict}`;
  shown("camera-found", told.found.join(" · "));
  shown("camera-advice", told.advice);
  document.getElementById("camera-caution").hidden = !told.face;
  tell("");
  mode("judged");
  state.timer = setTimeout(() => mode(""), SHOWN_MS[told.usable ? "usable" : "unusable"]);
  document.dispatchEvent(
    new CustomEvent("say", { detail: { tone: told.usable ? "taken" : "ask", say: told.say } }),
  );
}

/** Somebody said "picture of …": take it where this browser may, else ask for a hand. */
async function askedFor(wanted) {
  if (wanted.trouble && !(await cameraAllowed())) {
    failed(wanted, wanted.trouble);
    return;
  }
  if (!state.busy && (await cameraAllowed())) {
    await take(wanted);
    return;
  }
  state.wanted = wanted;
  mode("aim");
  shown("camera-title", wanted.title);
  tell("asked for: press Take");
}

function lookOn() {
  const scheme = location.protocol === "https:" ? "wss" : "ws";
  const socket = new WebSocket(`${scheme}://${location.host}/bench/${job}/look`);
  socket.onmessage = ({ data }) => {
    const message = JSON.parse(data);
    if (message.type === "take") askedFor(message);
    if (message.type === "judged") judged(message);
    if (message.type === "taking" && !state.busy) {
      mode("aim");
      shown("camera-title", message.title);
      tell(`the ${state.server} takes it …`);
    }
  };
  socket.onclose = (event) => { if (event.code < 4400) setTimeout(lookOn, 2000); };
}

place.addEventListener("click", ({ target }) => {
  const choice = target.closest(".choice");
  if (choice) {
    const { of, stage } = choice.dataset;
    take({ of, stage, title: choice.textContent.trim() });
  }
});
document.getElementById("picture").addEventListener("click", choose);
document.getElementById("camera-take").addEventListener("click", () => take(state.wanted));
document.getElementById("camera-close").addEventListener("click", () => mode(""));
document.getElementById("camera-again").addEventListener("click", () => {
  const { of, stage, title, sha256 } = state.last;
  state.wanted = { of, stage, title, again: sha256 };
  mode("aim");
  camera.on().catch((error) => tell(`${error.message}: choose a file instead`));
});
file.addEventListener("change", async () => {
  const pictures = [...file.files].slice(0, 8);
  if (pictures.length) {
    tell("looking at it …");
    await post.add({ ...fields(state.wanted), chosen: "true" }, pictures);
  }
  file.value = "";
});
document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, select, textarea") || event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === "p") choose();
  if (event.key === "Escape" && !place.hidden) mode("");
  if (place.dataset.mode === "choose" && /^[1-9]$/.test(event.key)) {
    place.querySelectorAll(".choice")[Number(event.key) - 1]?.click();
  }
});
await post.open().catch(() => tell("this browser keeps nothing: leave no picture unsent"));
lookOn();
