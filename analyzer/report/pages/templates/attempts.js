"use strict";
// The attempt whose row is chosen is marked in every picture.
(() => {
  const ROW = /^attempt-\d+$/;

  function clear() {
    for (const element of document.querySelectorAll(".chosen")) element.classList.remove("chosen");
  }

  function choose() {
    const name = location.hash.slice(1);
    if (!ROW.test(name)) return;
    clear();
    for (const element of document.querySelectorAll(`tr#${name}, svg path.${name}`)) element.classList.add("chosen");
  }

  addEventListener("hashchange", choose);
  addEventListener("keydown", (event) => {
    if (event.key === "Escape") clear();
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#']");
    if (link && link.getAttribute("href") === location.hash) choose(); // chosen again: the address does not change
  });
  choose();
})();
