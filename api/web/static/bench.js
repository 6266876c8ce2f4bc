// The bench: microphone to frames, frames to the server, what it hears to the screen.

import { BenchLine } from "./bench_line.js";
import { heardUntil, showBoard, showEarly } from "./board.js";
import { DeadAir } from "./dead_air.js";
import { FrameStore } from "./frame_store.js";
import { wireHandOver } from "./hand_over.js";
import { Quiet } from "./quiet.js";
import { nothingTook, showAnswer, wireOrders } from "./talk.js";
import { VoiceOut } from "./voice_out.js";

const SILENT_MS = 1500; // no frame for so long: the microphone gives nothing
const job = document.body.dataset.job;
const state = { mic: "off", up: false, waiting: 0, lastFrame: 0, deadAir: null, refused: "", ear: "getting ready", deaf: "" };

function shown(id, text) {
  const place = document.getElementById(id);
  if (place.textContent !== text) place.textContent = text;
}

/** Say in red what keeps this bench from recording, or nothing. */
function showState() {
  let why = "";
  if (state.refused) why = state.refused;
  else if (state.mic === "off") why = "press Listen";
  else if (state.mic !== "on") why = state.mic;
  else if (performance.now() - state.lastFrame > SILENT_MS) why = "the microphone gives no sound";
  else why = state.deadAir?.why(performance.now()) ?? "";
  document.body.classList.toggle("not-recording", why !== "");
  shown("not-recording-why", why);
  document.getElementById("deaf").hidden = state.deaf === "";
  shown("deaf-why", state.deaf);
  const kept = state.waiting > 20 ? `; ${(state.waiting / 10).toFixed(0)} s kept in this browser` : "";
  const broken = `no connection${kept}: it is sent when the server is back`;
  // Nothing is connected before Listen is pressed: that is no fault to be told, unless sound waits to be sent.
  const begun = state.mic !== "off" || state.waiting > 0;
  shown("line-state", state.elsewhere || !begun ? "" : state.up ? `${state.ear}${kept}` : broken);
  document.body.classList.toggle("line-down", !state.up);
}

function told(message) {
  if (message.board) {
    showBoard(message.board);
    document.dispatchEvent(new CustomEvent("board", { detail: message.board }));
  }
  if (message.type === "ready") state.ear = "listening";
  if (message.type === "early") showEarly(message);
  if (message.type === "heard_to") heardUntil(message.place_s);
  if (["ended", "failed"].includes(message.type)) heardUntil(Infinity);
  if (message.type === "heard") {
    heardUntil(message.ended_s);
    state.ear = "listening";
    if (message.text) shown("last-words", message.text);
    if (message.answer) showAnswer(message.answer);
    if (message.answer && state.voice) state.voice.answer(message.answer);
    document.dispatchEvent(new CustomEvent("heard", { detail: message }));
  }
  if (message.type === "busy") state.refused = `${message.by} sends the sound of this job from another browser`;
  if (message.type === "taken_over") {
    const left = state.waiting ? `; ${(state.waiting / 10).toFixed(1)} s of this browser's sound were not taken` : "";
    state.refused = `${message.by || "another window"} sends the sound now${left}`;
  }
  document.getElementById("take-over").hidden = !["busy", "taken_over"].includes(message.type);
  if (message.type === "pressed" && !message.taken) nothingTook();
  if (message.type === "failed") state.deaf = message.line;
  if (["ready", "heard", "ended"].includes(message.type)) state.deaf = "";
  if (message.type === "refused" || message.type === "not_recording") {
    state.refused = message.line;
  } else if (message.type === "safe" || message.type === "recording") {
    state.refused = "";
  }
  if (message.type === "ended") state.mic = "this recording is ended";
  showState();
}

async function keepAwake() {
  try {
    await navigator.wakeLock?.request("screen");
  } catch {
    // Refused with a low battery: the red bar tells when sound stops, and that is what counts.
  }
}

/** The server's microphone listens: no permission is asked here, and no frame is sent. */
async function listenByServer() {
  const context = new AudioContext();
  const quiet = new Quiet();
  const settings = { microphone: "server" };
  state.deadAir = new DeadAir(performance.now());
  const path = `/bench/${job}/listen`;
  // Frames that this browser kept of its own microphone are of no use to a recording that the server makes.
  const line = new BenchLine(`${path}?microphone=server`, await FrameStore.open(), settings, (message) => {
    if (message.type === "microphone") {
      state.lastFrame = performance.now();
      state.deadAir.hear(message.peak, state.lastFrame);
      if (state.mic !== "this recording is ended") state.mic = message.line || "on";
      document.getElementById("level").value = message.peak;
      quiet.hear(message.peak, state.lastFrame);
    }
    told(message);
  }, ({ elsewhere, up, waiting }) => {
    if (!up && state.up) state.mic = "no connection: whether the server's microphone records cannot be seen here";
    Object.assign(state, { elsewhere, up, waiting });
    showState();
  });
  state.line = line;
  state.voice = new VoiceOut(context, (masked) => line.mask(masked), quiet);
  state.mic = "waiting for the server's microphone";
  state.lastFrame = performance.now();
  document.body.classList.add("listening");
  showState();
  await keepAwake();
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") keepAwake(); });
}

async function listen() {
  if (document.body.dataset.serverMicrophone) {
    await listenByServer();
    return;
  }
  const wanted = { autoGainControl: false, noiseSuppression: false, echoCancellation: false, channelCount: 1 };
  let stream;
  try {
    if (!navigator.mediaDevices) throw new Error("this page needs https, or localhost, for the microphone");
    stream = await navigator.mediaDevices.getUserMedia({ audio: wanted });
  } catch (error) {
    state.mic = `no microphone: ${error.message || error.name}`;
    showState();
    return;
  }
  const [track] = stream.getAudioTracks();
  track.onended = () => { state.mic = "the microphone was switched off"; showState(); };
  track.onmute = () => { state.mic = "the microphone is muted"; showState(); };
  track.onunmute = () => { state.mic = "on"; showState(); };
  const context = new AudioContext();
  await context.audioWorklet.addModule("/static/capture_worklet.js");
  const capture = new AudioWorkletNode(context, "capture", { numberOfOutputs: 0 });
  context.createMediaStreamSource(stream).connect(capture);
  const quiet = new Quiet();
  state.voice = new VoiceOut(context, (masked) => capture.port.postMessage({ masked }), quiet);
  await navigator.storage?.persist?.();
  const settings = { ...track.getSettings(), context_rate: context.sampleRate, label: track.label };
  const line = new BenchLine(`/bench/${job}/listen`, await FrameStore.open(), settings, told, ({ elsewhere, up, waiting }) => {
    Object.assign(state, { elsewhere, up, waiting });
    showState();
  });
  state.line = line;
  capture.port.onmessage = ({ data }) => {
    state.lastFrame = performance.now();
    state.deadAir.hear(data.peak, state.lastFrame);
    document.getElementById("level").value = data.peak;
    if (!data.masked) quiet.hear(data.peak, state.lastFrame);
    line.add(data.samples);
  };
  state.mic = "on";
  state.lastFrame = performance.now();
  state.deadAir = new DeadAir(state.lastFrame);
  document.body.classList.add("listening");
  showState();
  await keepAwake();
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") keepAwake(); });
}

document.getElementById("listen").addEventListener("click", listen);
document.getElementById("listen").disabled = false; // before this a press would have done nothing
document.getElementById("take-over").addEventListener("click", () => {
  state.refused = "";
  state.line.takeOver();
});
document.getElementById("hear-again").addEventListener("click", async () => {
  const headers = { accept: "application/json", "x-form-token": document.body.dataset.token };
  const answer = await fetch(`/bench/${job}/hear-again`, { method: "POST", headers });
  if (answer.ok) state.deaf = "";
  showState();
});
document.getElementById("silent").addEventListener("change", (event) => {
  if (state.voice) state.voice.silent = event.target.checked;
});
document.addEventListener("say", ({ detail }) => state.voice?.answer(detail));
document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, button, select")) return;
  if (event.key === "l") document.getElementById("listen").click();
});
wireHandOver(document.getElementById("hand-over"), document.getElementById("handing-over"));
wireOrders((press) => state.line?.press(press) ?? false);
setInterval(showState, 500);
showState();
// Come from a tag held up: nobody's hands are free to press anything.
if (new URLSearchParams(location.search).has("listen")) listen();
