"use strict";
(function () {
  const byId = (id) => document.getElementById(id);
  const stage = byId("stage");
  const sheets = Array.from(document.querySelectorAll(".sheet"));
  const tabs = Array.from(document.querySelectorAll("[role=tab]"));
  const data = JSON.parse(byId("data").textContent);
  const SPACE = "\u00a0";

  // The part of each drawing that is shown: x, y, width, height in the units of its view box.
  const views = new Map();
  for (const sheet of sheets) {
    const svg = sheet.querySelector("svg");
    if (svg) {
      const whole = svg.getAttribute("viewBox").split(" ").map(Number);
      views.set(sheet, { svg, whole, now: whole.slice() });
    }
  }
  let current = sheets[0];
  const view = () => views.get(current);

  function show(sheet) {
    current = sheet;
    for (const other of sheets) other.hidden = other !== sheet;
    for (const tab of tabs) {
      const isOn = tab.getAttribute("aria-controls") === sheet.id;
      tab.setAttribute("aria-selected", String(isOn));
      tab.tabIndex = isOn ? 0 : -1;
    }
    for (const id of ["closer", "wider", "whole-sheet"]) byId(id).disabled = !view();
    place(null);
  }

  function apply() {
    const v = view();
    if (v) v.svg.setAttribute("viewBox", v.now.map((n) => n.toFixed(2)).join(" "));
    drawCross();
  }

  // Zooms by a factor about a point of the drawing; the paper never leaves the stage altogether.
  function zoom(factor, x, y) {
    const v = view();
    if (!v) return;
    const width = Math.min(Math.max(v.now[2] * factor, v.whole[2] / 60), v.whole[2] * 1.5);
    const by = width / v.now[2];
    v.now = [x + (v.now[0] - x) * by, y + (v.now[1] - y) * by, width, v.now[3] * by];
    keep(v);
    apply();
  }

  function pan(dx, dy) {
    const v = view();
    if (!v) return;
    v.now[0] += dx;
    v.now[1] += dy;
    keep(v);
    apply();
  }

  function keep(v) {
    for (const axis of [0, 1]) {
      const low = v.whole[axis] - v.now[axis + 2] * 0.8;
      const high = v.whole[axis] + v.whole[axis + 2] - v.now[axis + 2] * 0.2;
      v.now[axis] = Math.min(Math.max(v.now[axis], low), high);
    }
  }

  function whole() {
    const v = view();
    if (v) {
      v.now = v.whole.slice();
      apply();
    }
  }

  // On a narrow stage a whole sheet would be too small to read: its map is shown.
  function begin(sheet) {
    const v = views.get(sheet);
    const map = (data.maps[sheet.id] || []).find((m) => m.isMain);
    if (v && map && stage.clientWidth < 640) {
      v.now = [map.left, map.top, map.right - map.left, map.bottom - map.top];
      v.svg.setAttribute("viewBox", v.now.join(" "));
    }
  }

  // The point of the drawing under a point of the window.
  function drawing(clientX, clientY) {
    const v = view();
    const matrix = v && v.svg.getScreenCTM();
    if (!matrix) return null;
    const at = new DOMPoint(clientX, clientY).matrixTransform(matrix.inverse());
    return [at.x, at.y];
  }

  function middle() {
    const v = view();
    return [v.now[0] + v.now[2] / 2, v.now[1] + v.now[3] / 2];
  }

  // Pointers: one pans, two zoom, a tap or a hover asks for the point.
  const held = new Map();
  let moved = 0;
  stage.addEventListener("pointerdown", (event) => {
    if (!view() || event.button > 0) return;
    held.set(event.pointerId, [event.clientX, event.clientY]);
    moved = 0;
    stage.setPointerCapture(event.pointerId);
    stage.classList.add("held");
  });
  stage.addEventListener("pointermove", (event) => {
    if (!view()) return;
    const before = held.get(event.pointerId);
    if (!before) {
      if (event.pointerType === "mouse") {
        const at = drawing(event.clientX, event.clientY);
        if (at) ask(at);
      }
      return;
    }
    const after = [event.clientX, event.clientY];
    const others = Array.from(held).filter(([id]) => id !== event.pointerId).map(([, at]) => at);
    const from = drawing(...before);
    const to = drawing(...after);
    held.set(event.pointerId, after);
    moved += Math.hypot(after[0] - before[0], after[1] - before[1]);
    if (!from || !to) return;
    if (others.length === 0) {
      pan(from[0] - to[0], from[1] - to[1]);
    } else {
      const [ox, oy] = others[0];
      const was = Math.hypot(before[0] - ox, before[1] - oy);
      const is = Math.hypot(after[0] - ox, after[1] - oy);
      const about = drawing((after[0] + ox) / 2, (after[1] + oy) / 2);
      if (was > 0 && is > 0 && about) zoom(was / is, about[0], about[1]);
    }
  });
  function release(event) {
    if (held.delete(event.pointerId) && event.type === "pointerup" && moved < 6) {
      const at = drawing(event.clientX, event.clientY);
      if (at) ask(at);
    }
    if (held.size === 0) stage.classList.remove("held");
  }
  stage.addEventListener("pointerup", release);
  stage.addEventListener("pointercancel", release);
  stage.addEventListener("wheel", (event) => {
    const at = drawing(event.clientX, event.clientY);
    if (!at) return;
    event.preventDefault();
    zoom(Math.exp(Math.max(-1, Math.min(1, event.deltaY / 300))), at[0], at[1]);
  }, { passive: false });

  stage.addEventListener("keydown", (event) => {
    const v = view();
    if (!v || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (step && event.shiftKey) {
      stepPoint(step[0], -step[1]);
    } else if (step) {
      pan(step[0] * v.now[2] * 0.1, step[1] * v.now[3] * 0.1);
    } else if (event.key === "+" || event.key === "=") {
      zoom(0.8, ...middle());
    } else if (event.key === "-") {
      zoom(1.25, ...middle());
    } else if (event.key === "0") {
      whole();
    } else if (event.key === "p" || event.key === "P") {
      startPoint();
    } else if (event.key === "Escape") {
      place(null);
    } else {
      return;
    }
    event.preventDefault();
  });
  byId("closer").addEventListener("click", () => view() && zoom(0.8, ...middle()));
  byId("wider").addEventListener("click", () => view() && zoom(1.25, ...middle()));
  byId("whole-sheet").addEventListener("click", whole);

  for (const [index, tab] of tabs.entries()) {
    tab.addEventListener("click", () => show(byId(tab.getAttribute("aria-controls"))));
    tab.addEventListener("keydown", (event) => {
      const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (!by) return;
      event.preventDefault();
      const next = tabs[(index + by + tabs.length) % tabs.length];
      next.focus();
      next.click();
    });
  }

  // Switches of layers. What is switched off is said, on paper too.
  const switches = Array.from(document.querySelectorAll(".switches input"));
  function setSwitches() {
    const off = [];
    for (const input of switches) {
      if (!input.checked) off.push(input.dataset.words);
      for (const group of document.querySelectorAll(".sheet g." + input.value)) {
        group.style.display = input.checked ? "" : "none";
      }
    }
    byId("switched").textContent = off.length ? "Switched off in the drawings: " + off.join(", ") : "";
  }
  for (const input of switches) input.addEventListener("change", setSwitches);
  byId("all-on").addEventListener("click", () => {
    for (const input of switches) input.checked = true;
    setSwitches();
  });

  // The point: what holds in the square of the ceiling grid that it lies in.
  const grid = data.grid;
  let point = null; // metres east and north of the middle of the area

  function mapAt(at) {
    const maps = data.maps[current.id] || [];
    return maps.find((m) => at[0] >= m.left && at[0] <= m.right && at[1] >= m.top && at[1] <= m.bottom);
  }

  function ask(at) {
    const map = mapAt(at);
    if (map) place([(at[0] - map.x) / map.unitsPerMetre, (map.y - at[1]) / map.unitsPerMetre]);
  }

  function startPoint() {
    if (grid) place([grid.west + grid.side * (Math.floor(grid.columns / 2) + 0.5),
      grid.south + grid.side * (Math.floor(grid.rows / 2) + 0.5)]);
  }

  function stepPoint(columns, rows) {
    if (!point) startPoint();
    else if (grid) place([point[0] + columns * grid.side, point[1] + rows * grid.side]);
  }

  const NS = "http://www.w3.org/2000/svg";
  const cross = document.createElementNS(NS, "path");
  cross.setAttribute("fill", "none");
  cross.setAttribute("stroke", "#d17b00");
  cross.setAttribute("pointer-events", "none");
  cross.setAttribute("class", "pointed");

  function drawCross() {
    cross.remove();
    const v = view();
    const maps = (data.maps[current.id] || []).filter((m) => m.isMain);
    if (!point || !v || maps.length === 0) return;
    const map = maps[0];
    const x = map.x + point[0] * map.unitsPerMetre;
    const y = map.y - point[1] * map.unitsPerMetre;
    if (x < map.left || x > map.right || y < map.top || y > map.bottom) return;
    const r = v.now[2] / 60;
    cross.setAttribute("d", `M${x - r} ${y}h${2 * r}M${x} ${y - r}v${2 * r}`);
    cross.setAttribute("stroke-width", String(v.now[2] / 400));
    v.svg.append(cross);
  }

  function grouped(number) {
    return String(number).replace(/\B(?=(\d{3})+$)/g, SPACE);
  }

  // Whole centimetres as metres to one decimal and whole feet, both rounded down.
  function words(cm) {
    const tenths = Math.floor(cm / 10);
    const feet = Math.floor(cm / 30.48 + 1e-9);
    const sign = tenths < 0 ? "\u2212" : "";
    const whole = Math.floor(Math.abs(tenths) / 10);
    const feetSign = feet < 0 ? "\u2212" : "";
    return `${sign}${grouped(whole)}.${Math.abs(tenths) % 10}${SPACE}m (${feetSign}${grouped(Math.abs(feet))}${SPACE}ft)`;
  }

  // A plane of the grid is kept as runs: value, how many, value, how many, ...
  function unrolled(runs, length) {
    const values = new Array(length).fill(null);
    let at = 0;
    for (let i = 0; i + 1 < runs.length; i += 2) {
      values.fill(runs[i], at, at + runs[i + 1]);
      at += runs[i + 1];
    }
    return values;
  }
  if (grid) {
    const count = grid.columns * grid.rows;
    for (const name of ["state", "aboveGround", "amsl", "ground", "governs"]) {
      grid[name] = unrolled(grid[name], count);
    }
  }

  // The place of a point, between the corners of a lattice over the grid.
  function lonLat(east, north) {
    const lattice = grid.places;
    const n = lattice.steps;
    const u = Math.min(Math.max((east - grid.west) / (grid.side * grid.columns), 0), 1) * n;
    const v = Math.min(Math.max((north - grid.south) / (grid.side * grid.rows), 0), 1) * n;
    const i = Math.min(Math.floor(u), n - 1);
    const j = Math.min(Math.floor(v), n - 1);
    const [s, t] = [u - i, v - j];
    const corner = (a, b) => lattice.corners[b * (n + 1) + a];
    return [0, 1].map((axis) =>
      corner(i, j)[axis] * (1 - s) * (1 - t) + corner(i + 1, j)[axis] * s * (1 - t)
      + corner(i, j + 1)[axis] * (1 - s) * t + corner(i + 1, j + 1)[axis] * s * t);
  }

  const readout = byId("readout");
  function row(table, cells, isSum) {
    const line = table.insertRow();
    if (isSum) line.className = "sum";
    for (const [index, text] of cells.entries()) {
      const cell = line.insertCell();
      cell.textContent = text;
      if (index === 1) cell.className = "n";
    }
  }

  function place(at) {
    point = at;
    drawCross();
    readout.replaceChildren();
    const say = (text) => {
      const line = document.createElement("p");
      line.textContent = text;
      readout.append(line);
    };
    if (!grid) return say(data.noGrid);
    if (!at) return say(data.hint);
    const column = Math.floor((at[0] - grid.west) / grid.side);
    const line = Math.floor((at[1] - grid.south) / grid.side);
    const isOn = column >= 0 && line >= 0 && column < grid.columns && line < grid.rows;
    const square = line * grid.columns + column;
    const state = isOn ? grid.state[square] : 0;
    if (state === 0) return say("Outside the operating area: nothing is answered here.");
    const [lon, lat] = lonLat(at[0], at[1]);
    const where = `${lat.toFixed(6)}, ${lon.toFixed(6)} (latitude, longitude, WGS${SPACE}84)`;
    if (state === 1) {
      say(where);
      return say("UNDETERMINED: at some point of this square the ceiling is not determined.");
    }
    const table = document.createElement("table");
    const governor = grid.governs[square] === null ? null : data.governors[grid.governs[square]];
    for (const step of governor ? governor.budget : []) row(table, [step.label, step.amount, step.note], step.isSum);
    if (grid.amsl[square] !== null) row(table, ["= ceiling AMSL", words(grid.amsl[square]), ""], true);
    if (grid.ground[square] !== null) {
      row(table, ["highest ground in the square, AMSL", words(grid.ground[square]), "its accuracy not added"]);
      row(table, ["accuracy of the ground", data.groundAccuracy, ""]);
    }
    row(table, ["= ceiling above ground", words(grid.aboveGround[square]), ""], true);
    say(where);
    say(governor ? "Governed at the middle of the square by " + governor.title : "What governs is not known here.");
    readout.append(table);
    say(data.squareNote);
  }

  // On paper every drawing is whole.
  let kept = [];
  window.addEventListener("beforeprint", () => {
    cross.remove();
    kept = Array.from(views.values(), (v) => [v, v.svg.getAttribute("viewBox")]);
    for (const [v] of kept) v.svg.setAttribute("viewBox", v.whole.join(" "));
  });
  window.addEventListener("afterprint", () => {
    for (const [v, box] of kept) v.svg.setAttribute("viewBox", box);
    drawCross();
  });

  document.documentElement.classList.add("scripted");
  for (const sheet of sheets) begin(sheet);
  show(sheets.find((sheet) => sheet.id === "sheet-site") || sheets[0]);
})();
