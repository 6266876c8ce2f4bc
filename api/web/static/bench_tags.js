// What is held up at the bench while work goes on: badges, gauges, new parts; and steps that wait for a witness.

import { CodeReader, isBadge } from "./code_reader.js";
import { Witness } from "./witness.js";

const { job, token } = document.body.dataset;
const place = (id) => document.getElementById(id);
const done = new Set(); // steps said to be done
let facts = { here: [], holds: [], gauges: [], lots: [] };
const reader = new CodeReader(place("scan-sight"), seen, (why) => { if (why) place("scan-did").textContent = why; });
const witness = new Witness(async (asked, word) => {
  const took = await ask("scans", { ...asked, word });
  if (took && place("scan-open").hidden && !waiting()) reader.stop();
  return took ? "" : place("scan-did").textContent;
});

/** The hold point whose step was said to be done and that waits, or undefined. */
function waiting() {
  return facts.holds.find((hold) => hold.waits && done.has(hold.step));
}

function show() {
  const hold = waiting();
  if (hold && place("hold").hidden) reader.startIfAllowed(); // nobody's hands are free
  place("hold").hidden = !hold;
  if (witness.asked && witness.asked.step !== hold?.step) witness.forget();
  place("hold-what").textContent = hold?.what ?? "";
  const rows = [
    ...(facts.here.length ? [{ text: `Here: ${facts.here.join(", ")}` }] : []),
    ...facts.holds.map((one) => ({ text: `Hold: ${one.what}, ${one.state}`, grave: one.waits })),
    ...facts.gauges,
    ...facts.lots,
  ];
  place("facts").replaceChildren(
    ...rows.map(({ text, grave }) => {
      const row = document.createElement("li");
      row.textContent = grave ? `! ${text}` : text;
      row.classList.toggle("grave", Boolean(grave));
      return row;
    }),
  );
}

async function ask(path, fields) {
  const options = { headers: { accept: "application/json", "x-form-token": token } };
  if (fields) Object.assign(options, { method: "POST", body: new URLSearchParams(fields) });
  let answer, told;
  try {
    answer = await fetch(`/bench/${job}/${path}`, options);
    told = await answer.json();
  } catch {
    place("scan-did").textContent = "No connection: hold it up again when the server is back.";
    return false;
  }
  if (answer.ok) facts = told;
  if (fields) place("scan-did").textContent = answer.ok ? told.did : `No: ${told.error.what}`;
  show();
  if (answer.ok && told.asks) witness.ask(told.asks, fields.code, fields.step);
  return answer.ok;
}

async function seen(text) {
  const part = place("scan-part").value;
  // A maker's own code on a bag is kept as it is, once somebody said of which part it is.
  const ofBag = part && !/^WM\d+\//.test(text);
  const took = ofBag
    ? await ask("new-parts", { part, what: place("scan-what").value, code: text })
    : await ask("scans", { code: text, step: isBadge(text) ? (waiting()?.step ?? "") : "" });
  if (took && place("scan-open").hidden && !waiting()) reader.stop();
}

function open() {
  place("scan-open").hidden = false;
  reader.start();
}

function close() {
  place("scan-open").hidden = true;
  if (!waiting()) reader.stop();
}

async function typed() {
  const code = place("scan-typed").value.trim();
  const part = place("scan-part").value;
  if (!code) return;
  if (isBadge(code)) {
    place("scan-typed").value = ""; // nobody reads it off the screen
    await seen(code);
    return;
  }
  const took = part
    ? await ask("new-parts", { part, what: place("scan-what").value, code })
    : await ask("gauges", { gauge: code });
  if (took) place("scan-typed").value = "";
}

place("scan").addEventListener("click", () => (place("scan-open").hidden ? open() : close()));
place("scan-close").addEventListener("click", close);
place("scan-typed-keep").addEventListener("click", typed);
place("scan-typed").addEventListener("keydown", (event) => { if (event.key === "Enter") typed(); }); // readers end with it
place("hold-pass").addEventListener("click", async () => {
  const hold = waiting();
  if (hold) await ask("go-on", { step: hold.step });
});
document.addEventListener("board", ({ detail }) => {
  done.clear();
  detail.steps.forEach((step) => done.add(step));
  show();
});
document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, button, select, textarea") || event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === "b") place("scan").click();
});
ask("facts");
