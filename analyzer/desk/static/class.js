"use strict";
(() => {
  // Sorting and sifting the list of a class. What was chosen stays in the address, so that going back finds it again.
  const given = new URLSearchParams(location.hash.slice(1));
  const choice = { text: given.get("find") ?? "", result: given.get("result") ?? "", sort: given.get("sort") ?? "place" };
  const number = (text) => (/^[\d.]/.test(text) ? parseFloat(text) : null);

  function order(one, other) {
    const back = choice.sort === "mark" ? -1 : 1;
    const key = choice.sort.replace("-", "");
    if (key === "name" || key === "procedure") {
      const first = one.dataset[key].localeCompare(other.dataset[key]);
      if (first) return first;
    } else if (key === "mark") {
      const [a, b] = [number(one.dataset.mark), number(other.dataset.mark)];
      if (a === null || b === null) { if (a !== b) return a === null ? 1 : -1; }  // those without a mark come last
      else if (a !== b) return back * (a - b);
    }
    return one.dataset.place - other.dataset.place;
  }

  function shown(row) {
    const words = choice.text.toLowerCase().split(/\s+/).filter(Boolean);
    const text = row.textContent.toLowerCase();
    if (!words.every((word) => text.includes(word))) return false;
    if (!choice.result) return true;
    return choice.result === "said" ? row.dataset.said === "yes" : row.dataset.result === choice.result;
  }

  function arrange() {
    const table = document.querySelector(".sifted");
    if (!table) return;
    const rows = [...table.tBodies[0].rows];
    rows.sort(order);
    for (const row of rows) row.hidden = !shown(row);
    const focused = document.activeElement;
    table.tBodies[0].append(...rows);
    if (table.contains(focused)) focused.focus();
    const seen = rows.filter((row) => !row.hidden).length;
    document.getElementById("sift-count").textContent = seen === rows.length ? "" : `${seen} of ${rows.length}`;
    for (const head of table.querySelectorAll("[data-sort]")) {
      const by = choice.sort.replace("-", "") === head.dataset.sort;
      if (by) head.setAttribute("aria-sort", choice.sort === "mark" ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    }
    const kept = new URLSearchParams();
    if (choice.text) kept.set("find", choice.text);
    if (choice.result) kept.set("result", choice.result);
    if (choice.sort !== "place") kept.set("sort", choice.sort);
    history.replaceState(null, "", kept.size ? `#${kept}` : location.pathname + location.search);
  }

  function listen() {
    const text = document.getElementById("sift-text");
    if (!text) return;
    const [result, sort] = [document.getElementById("sift-result"), document.getElementById("sift-sort")];
    [text.value, result.value, sort.value] = [choice.text, choice.result, choice.sort];
    document.getElementById("sift").addEventListener("submit", (event) => event.preventDefault());
    text.addEventListener("input", () => { choice.text = text.value; arrange(); });
    result.addEventListener("change", () => { choice.result = result.value; arrange(); });
    sort.addEventListener("change", () => { choice.sort = sort.value; arrange(); });
    for (const head of document.querySelectorAll(".sifted [data-sort]")) {
      head.querySelector("button").addEventListener("click", () => {
        const by = head.dataset.sort;
        choice.sort = by === "mark" && choice.sort === "mark" ? "-mark" : by;
        sort.value = choice.sort;
        arrange();
      });
    }
    if (location.hash.length > 1 && !document.getElementById(location.hash.slice(1))) arrange();
    else document.querySelector('.sifted [data-sort="place"]').setAttribute("aria-sort", "ascending");
  }
  listen();

  // How far the grading is. When it ends, the list and all that follows it are fetched anew, without a reload.
  const run = document.getElementById("run");
  let next = Date.now() + 5000;  // when the list may be fetched anew while the grading goes on
  async function follow() {
    if (run.dataset.underWay !== "yes") return;
    const answer = await fetch(run.dataset.address).catch(() => null);
    if (answer?.ok) {
      const said = await answer.json();
      const words = document.getElementById("run-words");
      if (words.textContent !== said.words) words.textContent = said.words;
      const bar = run.querySelector("progress");
      [bar.max, bar.value] = [said.total || 1, said.done];
      if (said.under_way && said.done && Date.now() > next && !document.getElementById("graded").contains(document.activeElement)) await renew();
      if (!said.under_way) {
        run.dataset.underWay = "";
        run.querySelector("form").hidden = true;
        for (const button of document.querySelectorAll(".setup button[disabled]")) button.disabled = false;
        await renew();
        return;
      }
    }
    setTimeout(follow, 500);
  }

  async function renew() {
    const begun = Date.now();
    const text = await (await fetch(location.pathname)).text();
    const now = new DOMParser().parseFromString(text, "text/html").getElementById("graded");
    const graded = document.getElementById("graded");
    const focused = graded.contains(document.activeElement) ? document.activeElement.id : "";
    const first = !graded.querySelector(".sifted");
    graded.replaceChildren(...now.childNodes);
    const setup = document.querySelector(".setup");
    if (first && graded.querySelector(".sifted") && !setup.contains(document.activeElement)) setup.open = false;
    listen();
    arrange();
    if (focused) document.getElementById(focused)?.focus();
    next = Date.now() + Math.max(5000, 20 * (Date.now() - begun));
  }
  follow();
})();
