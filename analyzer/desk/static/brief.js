"use strict";
(() => {
  const form = document.getElementById("brief");
  const [said, fault, plan, rest] = ["said", "fault", "plan", "rest"].map((id) => document.getElementById(id));
  const wide = matchMedia("(min-width: 60rem)");
  let busy = false, wanted = false;

  // A slider and a field show one value, that of the field; an empty one stands for what its placeholder says.
  const held = (input) => input?.value.trim().replace(",", ".") || "";
  const numberOr = (text, otherwise) => (text === "" || Number.isNaN(Number(text)) ? otherwise : text);
  function follow(slider, input) {
    const text = held(input);
    const like = numberOr(held(document.getElementById(slider.dataset.like)), slider.dataset.rest);
    slider.value = numberOr(text, like);
    slider.setAttribute("aria-valuetext", text === "" ? slider.dataset.empty : `${text} ${slider.dataset.unit}`);
  }
  for (const slider of form.querySelectorAll("[type=range]")) {
    const input = document.getElementById(slider.dataset.for);
    slider.addEventListener("input", () => { input.value = String(Number(slider.value)); });
    form.addEventListener("input", () => follow(slider, input));
    follow(slider, input);
  }

  // One question is out at a time; what was set meanwhile is asked when the answer is there, the latest alone.
  async function draw() {
    if (busy) {
      wanted = true;
      return;
    }
    busy = true;
    wanted = false;
    const body = new URLSearchParams([...new FormData(form)].filter(([, text]) => text !== ""));
    body.set("layout", wide.matches ? "wide" : "narrow");
    try {
      const answer = await fetch("/briefs/drawn", { method: "POST", body });
      if (!answer.ok) throw new Error(answer.statusText);
      show(await answer.json());
    } catch {
      show({ fault: "The desk does not answer: start it again. What was set is still here." });
    }
    busy = false;
    if (wanted) draw();
  }
  function show(drawn) {
    fault.hidden = !drawn.fault;
    fault.textContent = drawn.fault || "";
    for (const one of [said, plan, rest]) one.classList.toggle("stale", Boolean(drawn.fault));
    if (drawn.fault) return;
    if (said.textContent !== drawn.said) said.textContent = drawn.said;
    plan.innerHTML = drawn.plan;
    rest.innerHTML = drawn.rest;
  }

  form.addEventListener("input", (event) => event.target.name !== "name" && draw());
  wide.addEventListener("change", draw);
  draw();
})();
