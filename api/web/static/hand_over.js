// Handing over waits until the last words are heard: how long, and up to where they are, is shown meanwhile.

/** Say in the form how far the hearing is, from the press on until the answer comes. */
export function wireHandOver(form, place) {
  const buttons = [...form.querySelectorAll("button")];
  let ticking = 0;
  let heard = "";

  function show(since) {
    const waited = Math.round((performance.now() - since) / 1000);
    place.textContent = `The last words are being heard${heard}: ${waited} s. Nothing is lost if you leave.`;
  }

  function over() {
    clearInterval(ticking);
    ticking = 0;
    place.textContent = "";
    for (const button of buttons) button.disabled = false;
  }

  form.addEventListener("submit", () => {
    const since = performance.now();
    show(since);
    ticking = setInterval(() => show(since), 1000);
    // Not before the form is on its way: a disabled button would not say which of them was pressed.
    setTimeout(() => { for (const button of buttons) button.disabled = true; });
  });
  document.addEventListener("heard", ({ detail }) => {
    const s = Math.floor(detail.ended_s);
    heard = `, up to ${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`;
  });
  // Come back to by the browser's own button, or stopped there.
  window.addEventListener("pageshow", over);
}
