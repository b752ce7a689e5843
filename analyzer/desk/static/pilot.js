"use strict";
// Measures the flights that a pilot's page is missing, piece by piece: it says how far it is, can be stopped, and goes on.
(() => {
  const form = document.getElementById("measure");
  if (!form) return;
  const [said, button] = [form.querySelector("[role=status]"), form.querySelector("button")];
  const whole = Number(form.dataset.left);
  let running = false;

  async function measure() {
    running = true;
    button.textContent = "Stop";
    let left = whole;
    while (running && left > 0) {
      said.textContent = `Measuring: ${whole - left} of ${whole}.`;
      const answer = await fetch(`${form.getAttribute("action")}&script=`, { method: "POST" }).catch(() => null);
      if (!answer?.ok) {
        said.textContent = "The measuring was broken off; load this page again to go on.";
        break;
      }
      left = (await answer.json()).left;
    }
    if (running && left === 0) location.reload();
    else {
      button.textContent = "Go on";
      if (running === false) said.textContent = `Stopped: ${whole - left} of ${whole} measured. They are shown when this page is loaded again.`;
    }
    running = false;
  }

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (running) running = false;
    else measure();
  });
  measure();
})();
