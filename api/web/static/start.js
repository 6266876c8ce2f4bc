// The start of a pump without hands: a tag held to the camera begins its job, a badge tells who is here.

import { CodeReader, isBadge } from "./code_reader.js";

const badge = document.getElementById("by-badge");
const orders = document.getElementById("by-order");
const token = orders.elements.form_token.value;
const reader = new CodeReader(document.getElementById("sight"), seen, (why) => {
  document.getElementById("blind").textContent = why;
  document.body.classList.toggle("looking", reader.on);
}, isBadge);

/** Show what was understood, in large type; `refused` says that nothing came of it. */
export function show(large, small = "", refused = false) {
  document.getElementById("understood").textContent = large;
  document.getElementById("understood-more").textContent = small;
  document.getElementById("understood-card").classList.toggle("no", refused);
}

async function seen(text) {
  if (isBadge(text)) {
    reader.stop();
    badge.elements.badge.value = text;
    badge.submit();
    return;
  }
  await begin("/bench/scans", { code: text });
}

/** Ask the server to begin a job, and go where it says. */
export async function begin(path, fields) {
  let answer;
  try {
    answer = await fetch(path, {
      method: "POST",
      headers: { accept: "application/json", "x-form-token": token },
      body: new URLSearchParams(fields),
    });
  } catch {
    show("No connection", "hold the tag up again when the server is back", true);
    return;
  }
  if (answer.status === 401) location.reload();
  const told = await answer.json();
  if (!answer.ok) {
    show("No", told.error.what, true);
    return;
  }
  show(told.work_order, [told.pump_tag, told.sheet].filter(Boolean).join(" · "));
  if (told.go) {
    reader.stop();
    location.assign(told.go);
    return;
  }
  orders.elements.work_order.value = told.work_order;
  orders.elements.pump_tag.value = told.pump_tag ?? "";
  show(told.work_order, "Which sheet? Nothing tells this pump's type yet: choose it below.", true);
  orders.elements.sheet.focus();
}

document.getElementById("look").addEventListener("click", () => reader.start());
const remembered = sessionStorage.getItem("tag");
sessionStorage.removeItem("tag");
if (remembered) begin("/bench/scans", { code: remembered });
reader.startIfAllowed();
