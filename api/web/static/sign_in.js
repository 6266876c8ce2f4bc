// Signing in by a badge held to the camera. A job's tag held up first is remembered until its bearer is known.

import { CodeReader, isBadge, isJobTag } from "./code_reader.js";

const form = document.getElementById("by-badge");
const said = document.getElementById("seen");
const button = document.getElementById("look");
const reader = new CodeReader(document.getElementById("sight"), seen, (why) => {
  document.getElementById("blind").textContent = why;
  document.body.classList.toggle("looking", reader.on);
});

function seen(text) {
  if (isBadge(text)) {
    said.textContent = "Badge seen.";
    reader.stop();
    form.elements.badge.value = text;
    if (form.elements.then.value === "/") form.elements.then.value = "/bench";
    form.submit();
  } else if (isJobTag(text)) {
    sessionStorage.setItem("tag", text);
    form.elements.then.value = "/bench";
    said.textContent = "Job tag seen. Now your badge.";
  } else {
    said.textContent = `This code is no badge: “${text.slice(0, 60)}”`;
  }
}

button.addEventListener("click", () => reader.start());
reader.startIfAllowed();
