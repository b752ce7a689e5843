"use strict";
// The flight seen again as it was flown: the instant moves by the clock, and next to it stands what the instruments showed.
(() => {
  const FRAME_MS = 32; // thirty a second are enough
  const HOLE_S = 2.5; // seconds of the page are one apart; where the log has none, the replay goes on after it

  for (const section of document.querySelectorAll("section.approach")) replay(section);

  function replay(section) {
    const { data, times } = section.flight;
    const shown = data.instruments;
    const values = Object.fromEntries(data.readings.map((reading) => [reading.quantity, reading.values]));
    const bar = section.querySelector(".instant");
    const panel = bar.querySelector(".instruments");
    const button = bar.querySelector(".play");
    const speed = bar.querySelector("select");
    const part = (name) => panel.querySelector(`[data-shows="${name}"]`);
    const last = times.length - 1;
    let now = 0;
    let playing = null; // the frame that is asked for
    let before = 0;
    let chosen = Boolean(location.hash); // an instant was chosen, and not only shown at first: the replay goes on from there

    const course = (value) => `${String(Math.round(value) % 360 || 360).padStart(3, "0")}°`;
    const minutes = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
    const thousands = (value) => value.toLocaleString("en");

    // the value that holds at a second
    const at = (steps, k) => steps.findLast(([from]) => from <= k)[1];

    function write(name, large, small) {
      const [first, second] = part(name).querySelectorAll(".large, .small");
      if (first.textContent !== large) first.textContent = large;
      if (second.textContent !== small) second.textContent = small;
    }

    // the last instant of some that has passed, as a clock that was started then
    function since(instants, time) {
      const passed = instants.filter((instant) => instant <= time);
      return passed.length ? time - passed[passed.length - 1] : null;
    }

    function turn(name, degrees) {
      const hand = part(name).querySelector(".hand");
      hand.setAttribute("visibility", degrees === null ? "hidden" : "visible");
      if (degrees !== null) hand.setAttribute("transform", `rotate(${degrees})`);
    }

    function show(k) {
      if (panel.hidden) return;
      const whole = Math.floor(k);
      const time = times[whole] + (k - whole) * ((times[whole + 1] ?? times[whole]) - times[whole]);
      needle(whole);
      station(whole);
      altitude(whole);
      const bank = values.bank ? values.bank[whole] : null;
      turn("bank", bank === null ? null : Math.max(-60, Math.min(60, bank)));
      write("bank", bank === null ? "not known" : `${Math.abs(bank)}°${bank > 0 ? " right" : bank < 0 ? " left" : ""}`, "bank");
      clocks(time);
    }

    function needle(k) {
      const hand = part("needle").querySelector(".hand");
      const share = shown.share[k];
      hand.setAttribute("visibility", share === null ? "hidden" : "visible");
      if (share === null) return write("needle", shown.needle, "course set not known");
      hand.setAttribute("transform", `translate(${(-50 * Math.max(-1, Math.min(1, share))).toFixed(1)})`);
      const toward = at(shown.toward, k);
      const flag = toward === null ? "" : toward > 0 ? " to" : " from";
      const off = Math.abs(share) > 1 ? "off the scale, " : "";
      return write("needle", `${course(at(shown.course, k))}${flag}`, `${shown.needle}, ${off}${shown.full}`);
    }

    function station(k) {
      const { name, east_nm, north_nm, elevation_m, by_dme } = shown.station;
      const east = east_nm - data.places.plan[0][k];
      const north = north_nm - data.places.plan[1][k];
      const flown = values.altitude ? values.altitude[k] : null;
      const height = by_dme && flown !== null ? (flown * shown.height.metres - elevation_m) / 1852 : 0;
      const bearing = (Math.atan2(east, north) * 180) / Math.PI - shown.variation;
      turn("station", shown.relative[k]);
      const range = Math.hypot(east, north, height).toFixed(by_dme ? 1 : 2);
      write("station", `${range} NM`, `${by_dme ? "DME" : "from"} ${name}, bears ${course((bearing + 360) % 360)}`);
    }

    function altitude(k) {
      const flown = values.altitude ? values.altitude[k] : null;
      const minimum = at(shown.minimum, k);
      const hand = part("altitude").querySelector(".hand");
      const floor = part("altitude").querySelector(".floor");
      floor.setAttribute("visibility", minimum === null ? "hidden" : "visible");
      hand.setAttribute("visibility", flown === null ? "hidden" : "visible");
      if (flown === null) return write("altitude", "not known", "altitude");
      const above = minimum === null ? null : flown - minimum;
      const rise = above === null ? 0 : Math.max(-250, Math.min(750, (above * shown.height.metres) / 0.3048));
      hand.setAttribute("transform", `translate(0 ${(-0.04 * rise).toFixed(1)})`);
      const words = above === null ? "no minimum" : `${thousands(Math.abs(above))} ${above < 0 ? "below" : "above"} ${thousands(minimum)}`;
      part("altitude").classList.toggle("low", above !== null && above < 0);
      return write("altitude", `${thousands(flown)} ${shown.height.name}`, words);
    }

    function clocks(time) {
      const fix = since(shown.passed, time);
      const level = since(shown.level, time);
      write("fix", fix === null ? "–" : minutes(fix), `since ${shown.fix}`);
      write("level", level === null ? "–" : minutes(level), "since the last turn");
    }

    function step(at) {
      playing = requestAnimationFrame(step);
      const passed = at - before;
      if (passed < FRAME_MS) return;
      before = at;
      let k = Math.floor(now);
      let time = times[k] + (now - k) + (passed / 1000) * Number(speed.value);
      while (k < last && times[k + 1] <= time) k += 1;
      if (k < last && times[k + 1] - times[k] > HOLE_S) {
        k += 1;
        time = times[k];
      }
      seek(k >= last ? last : k + Math.min(1, time - times[k]));
      if (now >= last) pause();
    }

    function seek(k) {
      section.dispatchEvent(new CustomEvent("seek", { detail: k }));
    }

    function play() {
      if (panel.hidden) {
        panel.append(document.getElementById("instruments").content.cloneNode(true));
        panel.querySelector(".notes").textContent = shown.notes.join(" ");
        panel.hidden = false;
        show(now);
      }
      if (now >= last || !chosen) seek(0);
      const plan = section.querySelector("figure[data-picture=plan]");
      const { top } = plan.getBoundingClientRect();
      if (top < 0 || top > innerHeight / 2) plan.scrollIntoView();
      before = performance.now();
      playing = requestAnimationFrame(step);
      button.textContent = "Pause";
    }

    function pause() {
      cancelAnimationFrame(playing);
      playing = null;
      button.textContent = "Replay";
    }

    const follow = (event) => {
      now = event.detail;
      chosen = true;
      show(now);
    };
    now = Number(bar.querySelector("input").value);
    section.addEventListener("instant", follow);
    button.addEventListener("click", () => (playing === null ? play() : pause()));
    bar.addEventListener("keydown", (event) => {
      const slider = event.target.matches("input");
      if (slider && event.key === " ") {
        event.preventDefault();
        button.click();
      } else if (!slider && event.target === button && ["ArrowLeft", "ArrowRight"].includes(event.key)) {
        event.preventDefault();
        seek(Math.round(now) + (event.key === "ArrowRight" ? 5 : -5));
      }
    });
    bar.querySelector(".player").hidden = false;
  }
})();
