"use strict";
// One instant in all pictures of an approach: chosen with the slider (pointer, touch or keys), in a picture, or by a table's row.
// An event "seek" with a number of a second, or a place between two, shows it, too; "instant" says what is shown.
(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const OVERLAP = 0.005; // of a picture's width: places of the track so near to each other count as one
  const sections = [...document.querySelectorAll("section.approach")].map(follow);

  function add(parent, name, attributes) {
    const element = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    parent.append(element);
    return element;
  }

  function scale(panel, x, y) {
    const [left, top, width, height] = panel.box;
    return [
      left + ((x - panel.x[0]) / (panel.x[1] - panel.x[0])) * width,
      top + height - ((y - panel.y[0]) / (panel.y[1] - panel.y[0])) * height,
    ];
  }

  function nearest(values, wanted) {
    let low = 0;
    let high = values.length - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (values[middle] <= wanted) low = middle;
      else high = middle;
    }
    return wanted - values[low] <= values[high] - wanted ? low : high;
  }

  // the same in values that are not known everywhere and need not grow
  function nearestKnown(values, wanted) {
    return values.reduce((best, value, k) => {
      if (value === null) return best;
      return best === null || Math.abs(value - wanted) < Math.abs(values[best] - wanted) ? k : best;
    }, null);
  }

  // a list in which the number of repetitions of a value stands after it as text
  function spread(list) {
    const all = [];
    for (const value of list) {
      if (typeof value === "string") for (let n = Number(value); n > 0; n -= 1) all.push(all[all.length - 1]);
      else all.push(value);
    }
    return all;
  }

  // a value between seconds, for what moves
  function between(list, k) {
    const before = list[Math.floor(k)];
    const after = list[Math.ceil(k)];
    return before === null || after === null ? before : before + (after - before) * (k - Math.floor(k));
  }

  function told(reading, k) {
    const value = reading.values[k];
    const size = Number((reading.sides ? Math.abs(value) : value).toFixed(reading.decimals));
    const places = { minimumFractionDigits: reading.decimals, maximumFractionDigits: reading.decimals };
    const number =
      reading.quantity === "track" ? String(size % 360).padStart(3, "0") : size.toLocaleString("en", places).replace("-", "−");
    const side = reading.sides && size !== 0 ? (value > 0 ? " right" : " left") : "";
    return `${reading.words} ${number}${reading.unit}${side}`;
  }

  function follow(section) {
    const data = JSON.parse(section.querySelector("script[type='application/json']").textContent);
    const times = data.runs.flatMap(([first, many]) => Array.from({ length: many }, (_, k) => data.start + first + k));
    for (const axes of Object.values(data.places)) axes.forEach((list, axis) => (axes[axis] = spread(list)));
    for (const reading of data.readings) reading.values = spread(reading.values);
    for (const name of ["share", "relative"]) data.instruments[name] = spread(data.instruments[name]);
    section.flight = { data, times }; // for the replay
    const values = Object.fromEntries(data.readings.map((reading) => [reading.quantity, reading.values]));
    const pane = section.querySelector(".pictures");
    const pictures = [...section.querySelectorAll("figure[data-picture] svg[data-layout]")].map(picture);
    const bar = section.querySelector(".instant");
    const slider = bar.querySelector("input");
    const reading = bar.querySelector(".reading");
    let now = 0;
    let read = null; // the second whose readings stand there

    function picture(svg) {
      const figure = svg.closest("figure");
      const name = figure.dataset.picture;
      const panels = data.panels[name][svg.dataset.layout].filter((panel) => panel.quantity !== "compass").map((panel) => {
        const marked = add(svg, "g", { class: "marked" });
        const line = name === "plan" ? null : add(svg, "line", { class: "now" });
        const dot = add(svg, "circle", { class: "now", r: 4.4 }); // on the left edge, short of the numbers of the axis
        return { ...panel, marked, line, dot };
      });
      const point = (event) => {
        const edge = svg.getBoundingClientRect();
        const size = svg.viewBox.baseVal;
        const x = ((event.clientX - edge.left) / edge.width) * size.width;
        const y = ((event.clientY - edge.top) / edge.height) * size.height;
        show(name === "plan" ? beside(panels[0], x, y, OVERLAP * size.width) : along(panels[0], x));
      };
      svg.addEventListener("pointermove", point);
      svg.addEventListener("pointerdown", point);
      return { name, panels, figure };
    }

    // where the pictures scroll next to the findings, scroll to the one that shows the choice
    function reveal(name) {
      if (getComputedStyle(pane).overflowY !== "auto") return;
      const found = pictures.find((one) => one.name === name) || pictures[0];
      pane.scrollTop += found.figure.getBoundingClientRect().top - pane.getBoundingClientRect().top;
    }

    function along(panel, x) {
      const wanted = panel.x[0] + ((x - panel.box[0]) / panel.box[2]) * (panel.x[1] - panel.x[0]);
      if (panel.quantity === "final") return nearestKnown(data.places.final[0], wanted);
      return nearest(panel.quantity === "profile" ? data.places.profile[0] : times, wanted);
    }

    // the point of the track nearest to the pointer; where the track crosses itself, the one nearest in time to the last
    function beside(panel, x, y, overlap) {
      const away = times.map((_, k) => {
        const [px, py] = scale(panel, ...place(panel, k));
        return Math.hypot(px - x, py - y);
      });
      const least = away.reduce((a, b) => Math.min(a, b));
      let best = away.indexOf(least);
      away.forEach((distance, k) => {
        if (distance <= least + overlap && Math.abs(k - now) < Math.abs(best - now)) best = k;
      });
      return best;
    }

    function place(panel, k) {
      const read = (list) => (list ? between(list, k) : null);
      const [first, second] = data.places[panel.quantity] || [times];
      if (panel.quantity === "plan") return [read(first), read(second)];
      if (panel.quantity === "profile") return [read(first), read(values.altitude)];
      if (panel.quantity === "speed") return [read(times), read(values.indicated || values.ground_speed)];
      if (panel.quantity === "final") {
        const x = read(first);
        return [x === null ? panel.x[0] : x, x === null ? null : read(values.altitude)];
      }
      return [read(times), read(values[panel.quantity])];
    }

    function show(k) {
      now = Math.min(Math.max(k, 0), times.length - 1);
      section.dispatchEvent(new CustomEvent("instant", { detail: now }));
      for (const panel of pictures.flatMap(({ panels }) => panels)) {
        const [left, top, width, height] = panel.box;
        const [x, y] = place(panel, now);
        const [px, py] = scale(panel, x, y === null ? panel.y[0] : y);
        if (panel.line) {
          panel.line.setAttribute("visibility", panel.quantity === "final" && y === null ? "hidden" : "visible");
          const ends = { x1: px, x2: px, y1: top, y2: top + height };
          for (const [key, value] of Object.entries(ends)) panel.line.setAttribute(key, value.toFixed(2));
        }
        panel.dot.setAttribute("cx", px.toFixed(2));
        panel.dot.setAttribute("cy", py.toFixed(2));
        const seen = y !== null && px >= left - 1 && px <= left + width + 1 && py >= top - 1 && py <= top + height + 1;
        panel.dot.setAttribute("visibility", seen ? "visible" : "hidden");
      }
      const whole = Math.floor(now);
      if (whole === read) return;
      read = whole;
      const clock = new Date(Math.round(times[whole]) * 1000).toISOString().slice(11, 19);
      const part = data.parts[data.part.findLast(([from]) => from <= whole)[1]];
      const known = data.readings.filter((one) => one.values[whole] !== null);
      const texts = [part ? `${clock} UTC, ${part}` : `${clock} UTC`, ...known.map((one) => told(one, whole))];
      reading.replaceChildren(
        ...texts.map((text, number) => {
          const item = document.createElement(number ? "span" : "strong");
          item.textContent = text;
          return item;
        }),
      );
      slider.value = String(whole);
      slider.setAttribute("aria-valuetext", texts.join(", "));
    }

    // null for `from` clears the marked stretch
    function mark(from, to) {
      for (const { name, panels } of pictures) {
        for (const panel of panels) {
          panel.marked.replaceChildren();
          if (from === null) continue;
          const first = nearest(times, from);
          const last = nearest(times, to);
          if (name === "plan") {
            const points = [];
            for (let k = first; k <= last; k += 1) points.push(scale(panel, ...place(panel, k)).map((v) => v.toFixed(1)).join());
            add(panel.marked, "polyline", { points: points.join(" ") });
          } else {
            const [x, end] = [first, last].map((k) => scale(panel, place(panel, k)[0], panel.y[0])[0]);
            if (panel.quantity === "final" && x >= end) continue;
            add(panel.marked, "rect", { x, y: panel.box[1], width: Math.max(1.5, end - x), height: panel.box[3] });
          }
        }
      }
    }

    slider.max = String(times.length - 1);
    slider.addEventListener("input", () => show(Number(slider.value)));
    section.addEventListener("seek", (event) => show(event.detail));
    bar.hidden = false;
    show(data.first);
    return { section, mark, reveal, show: (time) => show(nearest(times, time)) };
  }

  function clear() {
    for (const row of document.querySelectorAll(".chosen")) row.classList.remove("chosen");
    for (const { mark } of sections) mark(null, null);
  }

  function choose() {
    const row = document.getElementById(location.hash.slice(1));
    if (!row || !row.dataset.from) return;
    clear();
    row.classList.add("chosen");
    const { from, to, at, show } = row.dataset;
    const approach = sections.find(({ section }) => section.contains(row));
    approach.mark(Number(from), Number(to));
    approach.show(Number(at));
    approach.reveal(show);
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
