"use strict";
(() => {
  const form = document.getElementById("chart");
  const template = document.getElementById("field").content.firstElementChild;
  const places = { plan: document.getElementById("plan"), profile: document.getElementById("profile") };
  const said = document.getElementById("said");
  const state = document.getElementById("state");
  const notes = document.getElementById("notes");
  let asked = 0, waiting = 0;

  const fieldOf = (name) => form.querySelector(`[data-field="${CSS.escape(name)}"]`);

  function made(one) {
    const field = template.cloneNode(true);
    const id = `f-${one.name.replace(/[ .]/g, "-")}`;
    field.dataset.field = one.name;
    field.querySelector("label").htmlFor = id;
    let input = field.querySelector("input");
    if (one.choices.length) {
      const select = document.createElement("select");
      for (const choice of ["", ...one.choices]) select.append(new Option(choice, choice));
      input.replaceWith(select);
      input = select;
    } else {
      input.placeholder = one.hint;
    }
    input.id = id;
    input.name = one.name;
    input.setAttribute("aria-describedby", `${id}-said`);
    field.querySelector(".said").id = `${id}-said`;
    return field;
  }

  function show(field, one) {
    field.hidden = false;
    field.classList.toggle("wrong", Boolean(one.fault));
    field.querySelector(".words").textContent = one.label;
    field.querySelector(".need").textContent = one.needed ? "" : " (may be left out)";
    field.classList.toggle("odd", Boolean(!one.fault && one.doubt));
    field.querySelector(".said").textContent = one.fault || one.doubt || one.understood;
    const input = field.querySelector("input, select");
    if (one.fault) input.setAttribute("aria-invalid", "true"); else input.removeAttribute("aria-invalid");
    const offer = field.querySelector(".offer");
    offer.hidden = !one.offer;
    offer.dataset.offer = one.offer;
    offer.textContent = one.offer ? `${one.offer}: ${one.offer_words}` : "";
  }

  function lay(chart) {
    const names = new Set(chart.fields.map((one) => one.name));
    for (const field of form.querySelectorAll("[data-field]")) field.hidden = !names.has(field.dataset.field);
    for (const section of form.querySelectorAll("[data-section]")) {
      const room = section.querySelector(".fields");
      const own = chart.fields.filter((one) => one.section === section.dataset.section);
      section.hidden = !own.length;
      let before = null;
      for (const one of own) {
        let field = fieldOf(one.name);
        if (!field) {
          field = made(one);
          if (before) before.after(field); else room.prepend(field);
        }
        show(field, one);
        before = field;
      }
    }
    for (const key of ["plan", "profile"]) places[key].innerHTML = chart[key];
    said.textContent = state.textContent = chart.said;
    notes.replaceChildren(...chart.notes.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
  }

  async function draw() {
    const number = ++asked;
    const body = new URLSearchParams();
    for (const [name, text] of new FormData(form)) if (text && !fieldOf(name)?.hidden) body.append(name, text);
    try {
      const answer = await fetch("/charts/draw", { method: "POST", body });
      if (answer.ok && number === asked) lay(await answer.json());
    } catch {
      state.textContent = "The desk has ended: start it again. What was typed is still here.";
    }
  }

  form.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(draw, 120); });
  form.addEventListener("submit", () => {
    for (const field of form.querySelectorAll("[data-field][hidden]")) field.remove();
  });
  form.addEventListener("click", (event) => {
    const offer = event.target.closest(".offer");
    if (!offer) return;
    const input = offer.parentElement.querySelector("input, select");
    input.value = offer.dataset.offer;
    input.focus();
    draw();
  });
  draw();
})();
