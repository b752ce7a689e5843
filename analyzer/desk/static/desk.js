"use strict";
(() => {
  // Each page says that it is open, and that it is left, so that the desk can end when none is.
  const page = [...crypto.getRandomValues(new Uint8Array(8))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  const say = (query) => fetch(`/alive?${query}`, { method: "POST", keepalive: true }).catch(() => {});
  say(`page=${page}`);
  setInterval(() => say(`page=${page}`), 20000);
  addEventListener("pagehide", () => navigator.sendBeacon(`/alive?left=${page}`));
  addEventListener("pageshow", (event) => event.persisted && say(`page=${page}`));

  for (const button of document.querySelectorAll("[data-print]")) button.addEventListener("click", () => print());

  // Names of pilots are offered where one is typed.
  addEventListener("focusin", async (event) => {
    const offered = event.target.getAttribute?.("list") === "pilots" && event.target.list;
    if (!offered || offered.childElementCount) return;
    const answer = await fetch("/pilots/names").catch(() => null);
    if (answer?.ok) offered.replaceChildren(...(await answer.json()).names.map((name) => new Option(name, name)));
  });

  // The list of flights follows what comes into the folder, without a reload: by the folder that is watched, or another page.
  const list = document.getElementById("list");
  let stamp = "";
  async function follow() {
    if (document.hidden) return;
    const answer = await fetch("/news").catch(() => null);
    if (!answer?.ok) return;
    const news = await answer.json();
    const watched = document.getElementById("watched");
    if (watched.textContent !== news.said) watched.textContent = news.said;
    watched.className = news.gone ? "verdict outside" : "quiet";
    if (stamp && news.stamp !== stamp) await renew();
    stamp = news.stamp;
  }
  async function renew() {
    if (list.contains(document.activeElement) && document.activeElement.matches("input")) return;  // somebody types there
    const before = new Set([...list.querySelectorAll("tbody a")].map((link) => link.getAttribute("href")));
    const text = await (await fetch(location.pathname + location.search)).text();
    const now = new DOMParser().parseFromString(text, "text/html").getElementById("list");
    const focused = list.contains(document.activeElement) ? document.activeElement.getAttribute("href") : null;
    list.replaceChildren(...now.childNodes);
    if (focused) list.querySelector(`[href="${CSS.escape(focused)}"]`)?.focus();
    const came = [...list.querySelectorAll("tbody a")].filter((link) => !before.has(link.getAttribute("href")));
    if (came.length) document.getElementById("came").textContent = `New: ${came.slice(0, 5).map((link) => link.textContent).join(", ")}`;
  }
  if (list) {
    follow();
    setInterval(follow, 2500);
  }

  const drop = document.getElementById("drop");
  if (!drop) return;
  const input = document.getElementById("files");
  const whole = document.getElementById("whole");
  const progress = document.getElementById("progress");
  const REFUSED = "refused files";
  let busy = false;
  progress.textContent = sessionStorage.getItem(REFUSED) ?? "";
  sessionStorage.removeItem(REFUSED);

  async function send(file) {
    const answer = await fetch(`${drop.dataset.to ?? "/logs"}?name=${encodeURIComponent(file.name)}`, { method: "POST", body: file });
    const said = answer.headers.get("content-type")?.startsWith("application/json") ? await answer.json() : { fault: await answer.text() };
    if (said.fault) throw new Error(`${file.name}: ${said.fault}`);
    return said.address;
  }

  async function take(files) {
    if (busy || !files.length) return;
    busy = true;
    const faults = [];
    let address = "";
    for (const [number, file] of files.entries()) {
      progress.textContent = files.length > 1 ? `${number + 1} of ${files.length}: ${file.name}` : `Reading ${file.name}`;
      try { address = await send(file); } catch (error) { faults.push(error.message); }
    }
    busy = false;
    input.value = "";
    if (whole) whole.value = "";
    if (faults.length) progress.textContent = faults.join("\n");
    if (!address) return;
    if (faults.length) sessionStorage.setItem(REFUSED, progress.textContent); // the page that shows what was taken says it again
    location.assign(files.length === 1 ? address : drop.dataset.then ?? "/");
  }

  // The files of what was dropped, those of folders too.
  async function filesOf(entry) {
    if (entry.isFile) return [await new Promise((done, failed) => entry.file(done, failed))];
    const reader = entry.createReader();
    const found = [];
    for (;;) {
      const some = await new Promise((done, failed) => reader.readEntries(done, failed));
      if (!some.length) return found;
      for (const one of some) found.push(...(await filesOf(one)));
    }
  }

  const takeChosen = () => take([...input.files]);
  const takeWhole = () => take([...whole.files].filter((file) => !file.name.startsWith(".")));
  input.addEventListener("change", takeChosen);
  whole?.addEventListener("change", takeWhole);
  addEventListener("dragover", (event) => { event.preventDefault(); drop.classList.add("over"); });
  addEventListener("dragleave", (event) => { if (!event.relatedTarget) drop.classList.remove("over"); });
  addEventListener("drop", (event) => {
    event.preventDefault();
    drop.classList.remove("over");
    const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry()).filter(Boolean);
    if (entries.some((entry) => entry.isDirectory)) Promise.all(entries.map(filesOf)).then((all) => take(all.flat().filter((file) => !file.name.startsWith("."))));
    else take([...event.dataTransfer.files]);
  });

  // A page shows its field before this script runs: what was chosen in between has told nobody.
  takeChosen();
  if (whole) takeWhole();
})();
