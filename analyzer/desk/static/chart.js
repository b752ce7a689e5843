"use strict";
(() => {
  const form = document.getElementById("chart");
  const fieldTemplate = document.getElementById("field").content.firstElementChild;
  const partTemplate = document.getElementById("part").content.firstElementChild;
  const places = ["plan", "profile", "holds"].map((name) => [name, document.getElementById(name)]);
  const seen = document.querySelector(".chart .seen");
  const said = document.getElementById("said");
  const state = document.getElementById("state");
  const notes = document.getElementById("notes");
  const missed = document.getElementById("missed");
  const flown = document.getElementById("flown");
  const drafted = form.elements.drafted;
  const again = document.getElementById("again");
  const place = `chart ${form.elements.file.value} ${form.elements.for.value}`;  // what is typed is kept there until it is saved
  let asked = 0, waiting = 0, touched = "refused" in form.dataset;

  const fieldOf = (name) => form.querySelector(`[data-field="${CSS.escape(name)}"]`);
  const nameOf = (element) => element.closest("[data-field]").dataset.field;

  function madeField(one) {
    const field = fieldTemplate.cloneNode(true);
    const id = `f-${one.name.replace(/[ .]/g, "-")}`;
    field.dataset.field = one.name;
    field.querySelector("label").htmlFor = id;
    let input = field.querySelector("input");
    if (one.choices.length) {
      const select = document.createElement("select");
      ["", ...one.choices].forEach((choice, k) => select.append(new Option(k ? one.choice_words[k - 1] : "", choice)));
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

  function partOf(section, row) {
    let part = section.querySelector(`[data-row="${CSS.escape(row)}"]`);
    if (part) return part;
    part = partTemplate.cloneNode(true);
    part.dataset.row = row;
    for (const button of part.querySelectorAll("[data-change]")) button.dataset.change = button.dataset.change.replace("new", row);
    section.append(part);
    return part;
  }

  function show(field, one, withText) {
    field.hidden = false;
    field.classList.toggle("wrong", Boolean(one.fault));
    field.classList.toggle("odd", Boolean(!one.fault && one.doubt));
    field.classList.toggle("drafted", one.drafted);
    field.querySelector(".words").textContent = one.label;
    field.querySelector(".need").textContent = one.needed ? " (needed)" : "";
    field.querySelector(".said").textContent = one.fault || one.doubt || one.understood;
    field.querySelector(".from-flight").hidden = !one.drafted;
    const input = field.querySelector("input, select");
    if (withText) input.value = one.choices.includes(one.understood) ? one.understood : one.text;
    if (one.fault) input.setAttribute("aria-invalid", "true"); else input.removeAttribute("aria-invalid");
    const offer = field.querySelector(".under > .offer");
    offer.hidden = !one.offer;
    offer.dataset.offer = one.offer;
    const offered = one.choice_words[one.choices.indexOf(one.offer)] ?? one.offer;
    offer.textContent = one.offer ? `${offered}: ${one.offer_words}` : "";
  }

  function layPart(part, fields, title, withText) {
    part.hidden = !fields.length;
    if (part.dataset.row) {
      part.setAttribute("aria-label", title || "Another");
      const head = part.querySelector(".row-head");
      head.hidden = !title;
      head.querySelector("strong").textContent = title;
    }
    for (const more of ["no", "yes"]) {
      const room = part.querySelector(`[data-more="${more}"]`);
      let before = null;
      for (const one of fields.filter((field) => field.more === (more === "yes"))) {
        let field = fieldOf(one.name);
        if (!field) {
          field = madeField(one);
          if (before) before.after(field); else room.prepend(field);
        }
        show(field, one, withText);
        before = field;
      }
    }
    const rare = fields.filter((one) => one.more);
    const details = part.querySelector("details");
    details.hidden = !rare.length;
    if (rare.some((one) => one.text || one.fault)) details.open = true;
  }

  function lay(chart, withText) {
    const names = new Set(chart.fields.map((one) => one.name));
    for (const field of form.querySelectorAll("[data-field]")) {
      if (names.has(field.dataset.field)) continue;
      field.hidden = true;
      if (withText) field.querySelector("input, select").value = "";
    }
    for (const section of form.querySelectorAll("[data-section]")) {
      const own = chart.fields.filter((one) => one.section === section.dataset.section);
      section.hidden = !own.length;
      for (const row of new Set(own.map((one) => one.row))) {
        layPart(partOf(section, row), own.filter((one) => one.row === row), chart.rows[row], withText);
      }
      for (const part of section.querySelectorAll("[data-row]")) {
        if (!own.some((one) => one.row === part.dataset.row)) part.hidden = true;
      }
    }
    drafted.value = chart.fields.filter((one) => one.drafted).map((one) => one.name).join(",");
    for (const [name, place] of places) place.innerHTML = chart.pictures[name];
    missed.textContent = chart.pictures.missed;
    said.textContent = state.textContent = chart.said;
    notes.replaceChildren(...chart.notes.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
    if (flown) {
      flown.querySelector("button").hidden = !chart.flown;
      if (chart.flown) flown.querySelector("span").textContent = `${chart.flown} ${chart.flown === 1 ? "value" : "values"} can be drafted from the flight.`;
      else if (drafted.value) flown.querySelector("span").textContent = "Drafted from the flight where a field says so: check each of them against the chart.";
    }
  }

  function typed() {
    const body = new URLSearchParams();
    for (const [name, text] of new FormData(form)) if (text) body.append(name, text);
    return body;
  }

  async function draw(change = "", body = typed(), withText = Boolean(change)) {
    clearTimeout(waiting);
    const number = ++asked;
    if (change) body.append("change", change);
    try {
      const answer = await fetch("/charts/draw", { method: "POST", body });
      if (!answer.ok) return;
      const chart = await answer.json();
      if (number !== asked) return;
      lay(chart, withText);
      if (touched) sessionStorage.setItem(place, typed());
    } catch {
      state.textContent = "The desk has ended: start it again. What was typed is still here.";
    }
  }

  function typedNow(name) {
    drafted.value = drafted.value.split(",").filter((one) => one && one !== name).join(",");
  }

  form.addEventListener("input", (event) => {
    typedNow(event.target.name);
    touched = true;
    sessionStorage.setItem(place, typed());
    clearTimeout(waiting);
    ++asked;  // an answer that is under way does not know of this yet
    waiting = setTimeout(draw, 120);
  });
  form.addEventListener("submit", () => {
    clearTimeout(waiting);
    ++asked;  // an answer that is under way must not keep again what is being saved
    touched = false;
    sessionStorage.removeItem(place);
  });
  // the picture that shows what is typed is brought into sight, where not all of them fit
  form.addEventListener("focusin", (event) => {
    const picture = document.getElementById(event.target.closest("[data-picture]")?.dataset.picture);
    if (picture?.firstChild) seen.scrollTop = picture.closest("figure").offsetTop;
  });
  form.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    touched = touched || button.type === "button";
    if (button.dataset.change) {
      draw(button.dataset.change);
    } else if ("confirm" in button.dataset) {
      typedNow(nameOf(button));
      button.closest("[data-field]").querySelector("input, select").focus();
      draw();
    } else if (button.dataset.offer) {
      const input = button.closest("[data-field]").querySelector("input, select");
      input.value = button.dataset.offer;
      input.focus();
      if (/^flown so/.test(button.textContent.split(": ")[1])) drafted.value = [...drafted.value.split(","), input.name].filter(Boolean).join(",");
      draw();
    }
  });
  again.querySelector("button").addEventListener("click", () => {
    sessionStorage.removeItem(place);
    location.reload();
  });
  // A reload, or a page in between, does not cost what was typed.
  const before = new URLSearchParams(touched ? "" : sessionStorage.getItem(place) ?? "");
  before.sort();
  const now = typed();
  now.sort();
  if (before.size && before.get("was") === now.get("was") && String(before) !== String(now)) {
    again.hidden = false;
    touched = true;
    draw("", before, true);
  } else {
    draw();
  }
})();
