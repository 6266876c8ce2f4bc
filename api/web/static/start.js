// The start of a pump without hands: a tag held to the camera begins its job, a badge tells who is here.

import { CodeReader, isBadge } from "./code_reader.js";
import { OrderVoice } from "./order_voice.js";

const badge = document.getElementById("by-badge");
const orders = document.getElementById("by-order");
const token = orders.elements.form_token.value;
const reader = new CodeReader(document.getElementById("sight"), seen, (why) => {
  document.getElementById("blind").textContent = why;
  document.body.classList.toggle("looking", reader.on);
}, isBadge);

const voice = new OrderVoice(said, (why) => {
  document.getElementById("deaf").textContent = why;
  document.body.classList.toggle("hearing", voice.on);
  if (voice.on && !why) ask("/bench/orders/ready", "", () => {});
});

/** Show what was understood, in large type; `refused` says that nothing came of it. */
function show(large, small = "", refused = false) {
  document.getElementById("understood").textContent = large;
  document.getElementById("understood-more").textContent = small;
  document.getElementById("choices").replaceChildren();
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

/** A phrase was heard; chatter is answered by nothing. */
async function said(sound) {
  const told = await ask("/bench/orders", sound, (why) => { document.getElementById("deaf").textContent = why; });
  if (!told) return;
  document.getElementById("deaf").textContent = "";
  if (told.go !== null || told.work_order) {
    went(told);
  } else if (told.choices.length) {
    show(`${told.choices.join(" or ")}?`, `heard as ${told.understood}: say it again, hold up the tag or press`, true);
    choose(told.choices);
  } else if (told.understood) {
    show(told.understood, "No job or tag of this work order is known: say it again, or type it below.", true);
    orders.elements.work_order.value = told.understood;
  }
}

function choose(choices) {
  document.getElementById("choices").replaceChildren(
    ...choices.map((order) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = order;
      button.addEventListener("click", () => {
        orders.elements.work_order.value = order;
        orders.submit();
      });
      return button;
    }),
  );
}

const no = (why) => show("No", why, true);

async function ask(path, body, refused = no) {
  let answer;
  try {
    answer = await fetch(path, { method: "POST", headers: { accept: "application/json", "x-form-token": token }, body });
  } catch {
    refused("no connection; again when the server is back");
    return null;
  }
  if (answer.status === 401) location.reload();
  const told = await answer.json();
  if (answer.ok) return told;
  refused(told.error.what);
  return null;
}

/** Ask the server to begin a job, and go where it says. */
async function begin(path, fields) {
  const told = await ask(path, new URLSearchParams(fields));
  if (told) went(told);
}

function went(told) {
  show(told.work_order, [told.pump_tag, told.sheet].filter(Boolean).join(" · "));
  if (told.go) {
    reader.stop();
    voice.stop();
    location.assign(told.go);
    return;
  }
  orders.elements.work_order.value = told.work_order;
  orders.elements.pump_tag.value = told.pump_tag ?? "";
  show(told.work_order, "Which sheet? Nothing tells this pump's type yet: choose it below.", true);
  orders.elements.sheet.focus();
}

document.getElementById("hear").addEventListener("click", () => voice.start());
voice.startIfAllowed();
document.getElementById("look").addEventListener("click", () => reader.start());
const remembered = sessionStorage.getItem("tag");
sessionStorage.removeItem("tag");
if (remembered) begin("/bench/scans", { code: remembered });
reader.startIfAllowed();
