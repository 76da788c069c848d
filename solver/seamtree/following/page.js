"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const by = (id) => document.getElementById(id);
  const items = Array.from(document.querySelectorAll("#steps > .step"));
  const cares = Array.from(document.querySelectorAll("#care li"));
  const part = by("part");
  const parts = Array.from(part.options, (option) => Number(option.value));
  const key = `sewing ${data.key}`; // where one was in this pattern
  const SEAM = "#b00020", INK = "#1c2429", FAINT = "#9aa3a8", GUIDE = "#5b646a";
  let now = 0;
  let printed = false; // which side of the paper is seen

  // -- drawing: places are inches, seen from the fabric side; the printed side is its mirror image

  function made(name, attributes, inside) {
    const element = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [one, value] of Object.entries(attributes)) element.setAttribute(one, value);
    if (inside !== undefined) element.textContent = inside;
    return element;
  }

  const x = (value) => (printed ? -value : value);

  function path(flat, closed) {
    let text = "";
    for (let k = 0; k < flat.length; k += 2) text += `${k ? "L" : "M"}${x(flat[k])} ${flat[k + 1]}`;
    return closed ? `${text}Z` : text;
  }

  function bounds(lists) {
    let left = Infinity, top = Infinity, right = -Infinity, bottom = -Infinity;
    for (const flat of lists) for (let k = 0; k < flat.length; k += 2) {
      left = Math.min(left, x(flat[k])); right = Math.max(right, x(flat[k]));
      top = Math.min(top, flat[k + 1]); bottom = Math.max(bottom, flat[k + 1]);
    }
    const edge = 0.05 * Math.max(right - left, bottom - top);
    return [left - edge, top - edge, right - left + 2 * edge, bottom - top + 2 * edge];
  }

  function sheet(box, words) {
    const svg = made("svg", { viewBox: box.join(" "), role: "img", "aria-label": words });
    svg.unit = Math.max(box[2], box[3]) / 100; // a hundredth of the picture: widths of lines
    svg.box = box;
    return svg;
  }

  const light = (hex) => {
    const [r, g, b] = [1, 3, 5].map((k) => {
      const c = parseInt(hex.slice(k, k + 2), 16) / 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };

  // A patch: as cloth, as cloth seen through the paper, or as paper alone.
  function patch(svg, block, p, look) {
    const { ring, colour } = block.patches[p];
    const paint = look === "paper" ? { fill: "#ffffff", stroke: FAINT } : { fill: block.palette[colour], stroke: INK };
    if (look === "through") paint["fill-opacity"] = 0.3;
    const shape = made("path", { class: "patch", d: path(ring, true), "stroke-width": 0.5 * svg.unit, "stroke-linejoin": "round", ...paint });
    svg.append(shape);
    return shape;
  }

  function number(svg, block, p, look) {
    const { name, code, middle, colour } = block.patches[p];
    const words = look === "paper" && code ? `${name} ${code}` : name;
    const size = Math.min(4.5 * svg.unit, 1.1 * middle[2], (2 * middle[2]) / (0.62 * words.length));
    if (size < 1.6 * svg.unit) return;
    const fill = look === "cloth" && light(block.palette[colour]) < 0.18 ? "#ffffff" : "#000000";
    svg.append(made("text", { x: x(middle[0]), y: middle[1] + 0.36 * size, "font-size": size, fill,
      "font-family": "DejaVu Sans, Verdana, Arial, sans-serif", "text-anchor": "middle" }, words));
  }

  function line(svg, flat, width, colour, more) {
    svg.append(made("path", { d: path(flat, false), fill: "none", stroke: colour, "stroke-width": width * svg.unit,
      "stroke-linecap": "round", "stroke-linejoin": "round", ...more }));
  }

  function seam(svg, flat) {
    line(svg, flat, 2.6, "#ffffff");
    line(svg, flat, 1.5, SEAM);
  }

  function dashed(svg, flat, colour) {
    svg.append(made("path", { d: path(flat, true), fill: "none", stroke: colour, "stroke-width": 0.55 * svg.unit,
      "stroke-dasharray": `${2 * svg.unit} ${1.3 * svg.unit}` }));
  }

  function figure(svg, words, small) {
    const figure = document.createElement("figure");
    const caption = document.createElement("figcaption");
    if (small) figure.className = "small";
    caption.textContent = words;
    figure.append(svg, caption);
    return figure;
  }

  // So much of a unit: the pieces before one, with or without it.
  function unitPicture(block, step, box, words, count, fresh) {
    const { patches } = block.units[step.unit];
    const svg = sheet(box, words);
    const cloth = printed ? "through" : "cloth";
    const looks = patches.map((_, k) => (k < count ? cloth : "paper"));
    patches.forEach((p, k) => { if (looks[k] === "paper") patch(svg, block, p, "paper"); });
    patches.forEach((p, k) => {
      if (looks[k] === "paper") return;
      const shape = patch(svg, block, p, looks[k]);
      if (fresh && k === count - 1) shape.classList.add("fresh");
    });
    patches.forEach((p, k) => number(svg, block, p, looks[k]));
    return svg;
  }

  function boxOf(block, step) {
    const { patches, trim } = block.units[step.unit];
    return bounds([trim, ...patches.map((p) => block.patches[p].ring), ...(step.laid ? [step.laid] : [])]);
  }

  function blockPicture(block, words, units) {
    const svg = sheet(bounds(block.patches.map((one) => one.ring)), words);
    // One shape a colour, for this is drawn anew at every step.
    block.palette.forEach((fill, colour) => {
      const alike = block.patches.filter((one) => one.colour === colour).map((one) => path(one.ring, true));
      svg.append(made("path", { d: alike.join(""), fill, stroke: INK, "stroke-width": 0.5 * svg.unit, "stroke-linejoin": "round" }));
    });
    const marked = (units || []).flatMap((unit) => block.units[unit].patches.map((p) => path(block.patches[p].ring, true)));
    if (marked.length) {
      svg.append(made("path", { d: marked.join(""), fill: SEAM, "fill-opacity": 0.25, stroke: SEAM, "stroke-width": 1.4 * svg.unit }));
    }
    return svg;
  }

  const side = () => (printed ? "seen from the printed side" : "seen from the fabric side");

  function addPictures(block, step) {
    const unit = block.units[step.unit];
    const name = block.patches[unit.patches[step.number - 1]].name;
    const box = boxOf(block, step);
    const before = unitPicture(block, step, box, `Before ${name} is added, ${side()}`, step.number - 1);
    dashed(before, step.laid, GUIDE);
    if (step.line) seam(before, step.line);
    const after = unitPicture(block, step, box, `With ${name} in place, ${side()}`, step.number, true);
    return [
      figure(before, step.line ? "Sew on the heavy line; dashes: the piece, flipped open" : "Dashes: the piece as it lies"),
      figure(after, "Then"),
      figure(blockPicture(block, `Where unit ${unit.name} is in the block`, [step.unit]), `Unit ${unit.name} in the block`, true),
    ];
  }

  function wholeUnit(block, step) {
    const unit = block.units[step.unit];
    const svg = unitPicture(block, step, boxOf(block, step), `Unit ${unit.name}, ${side()}`, unit.patches.length);
    dashed(svg, unit.trim, SEAM);
    return [figure(svg, "Cut on the dashed line"),
      figure(blockPicture(block, `Where unit ${unit.name} is in the block`, [step.unit]), `Unit ${unit.name} in the block`, true)];
  }

  function joinPictures(block, step) {
    const [first, second] = step.parts.map((units) => units.flatMap((unit) => block.units[unit].patches));
    const every = [...first, ...second].map((p) => block.patches[p].ring);
    const names = (units) => units.map((unit) => block.units[unit].name).join(", ");
    const words = `Join ${names(step.parts[0])} to ${names(step.parts[1])}`;
    const svg = sheet(bounds(every), `${words}, ${side()}`);
    const look = printed ? "through" : "cloth";
    for (const p of [...first, ...second]) patch(svg, block, p, look);
    seam(svg, step.path);
    arrow(svg, block, step);
    pins(svg, step);
    const all = blockPicture(block, "Where it is in the block", [...step.parts[0], ...step.parts[1]]);
    const signs = ["The heavy line is the seam, the arrow shows where to press"];
    if (step.matched.length) signs.push("diamonds: matched points, filled where allowances nest");
    if (step.corners.length) signs.push("triangles: hard corners");
    return [figure(svg, signs.join("; ")), figure(all, "In the block", true)];
  }

  function pins(svg, step) {
    const u = svg.unit;
    const ends = [step.path.slice(0, 2), step.path.slice(-2)];
    for (const [px, py] of ends) svg.append(made("circle", { cx: x(px), cy: py, r: 1.3 * u, fill: "#ffffff", stroke: INK, "stroke-width": 0.6 * u }));
    for (const [px, py, nests] of step.matched) {
      const r = 2.6 * u, at = x(px);
      svg.append(made("path", { d: `M${at} ${py - r}L${at + r} ${py}L${at} ${py + r}L${at - r} ${py}Z`,
        fill: nests ? INK : "#ffffff", stroke: nests ? "#ffffff" : INK, "stroke-width": 0.7 * u }));
    }
    for (const [px, py] of step.corners) {
      const r = 2.8 * u, at = x(px);
      svg.append(made("path", { d: `M${at} ${py - r}L${at + 0.87 * r} ${py + 0.5 * r}L${at - 0.87 * r} ${py + 0.5 * r}Z`,
        fill: INK, stroke: "#ffffff", "stroke-width": 0.7 * u }));
    }
  }

  // An arrow across the longest stretch of the seam, toward the part that the allowance is pressed to.
  function arrow(svg, block, step) {
    let best = [0, 0, 0];
    for (let k = 0; k + 3 < step.path.length; k += 2) {
      const long = Math.hypot(step.path[k + 2] - step.path[k], step.path[k + 3] - step.path[k + 1]);
      if (long > best[0] + 1e-6) best = [long, k, 0];
    }
    const [ax, ay, bx, by] = step.path.slice(best[1], best[1] + 4);
    const foot = [ax + 0.36 * (bx - ax), ay + 0.36 * (by - ay)];
    let across = [-(by - ay) / best[0], (bx - ax) / best[0]];
    const toward = new Set(step.parts[step.press].flatMap((unit) => block.units[unit].patches));
    const near = 1e-3 * best[0];
    const here = [foot[0] + near * across[0], foot[1] + near * across[1]];
    if (![...toward].some((p) => within(block.patches[p].ring, here))) across = across.map((value) => -value);
    const u = svg.unit;
    const at = (along, beside) => [foot[0] + (across[0] * along - across[1] * beside) * u, foot[1] + (across[1] * along + across[0] * beside) * u];
    const shaft = [...at(-4, 0), ...at(6, 0)], head = [...at(9, 0), ...at(4.5, 2.6), ...at(4.5, -2.6)];
    for (const [width, colour] of [[2.6, "#ffffff"], [1.1, SEAM]]) {
      line(svg, shaft, width, colour);
      svg.append(made("path", { d: path(head, true), fill: colour, stroke: colour, "stroke-width": width > 2 ? 1.4 * u : 0, "stroke-linejoin": "round" }));
    }
  }

  function within(ring, [px, py]) {
    let inside = false;
    for (let k = 0, j = ring.length - 2; k < ring.length; j = k, k += 2) {
      const [ax, ay, bx, by] = [ring[k], ring[k + 1], ring[j], ring[j + 1]];
      if (ay > py !== by > py && px < ((bx - ax) * (py - ay)) / (by - ay) + ax) inside = !inside;
    }
    return inside;
  }

  const draw = {
    block: (block) => [figure(blockPicture(block, "The block in its fabrics"), printed ? "Mirror image, as the printed side" : "As it is finished")],
    add: addPictures,
    unit: wholeUnit,
    join: joinPictures,
  };

  // -- which step

  function show(at, told) {
    items[now].classList.remove("now");
    items[now].querySelector(".drawn").replaceChildren();
    now = Math.min(Math.max(at, 0), items.length - 1);
    const step = data.steps[now];
    items[now].querySelector(".drawn").replaceChildren(...draw[step.kind](data.blocks[step.block], step));
    items[now].classList.add("now");
    const tools = items[now].dataset.tools.split(" ").filter(Boolean);
    for (const care of cares) care.classList.toggle("off", !tools.includes(care.dataset.tool));
    by("care").classList.toggle("none", !tools.length);
    if (by("notes")) by("notes").classList.toggle("now", now === 0);
    by("back").disabled = now === 0;
    by("next").disabled = now === items.length - 1;
    by("done").max = Math.max(items.length - 1, 1);
    by("done").value = now;
    by("where").textContent = `Step ${now + 1} of ${items.length}: ${step.title}`;
    part.selectedIndex = parts.reduce((found, first, k) => (first <= now ? k : found), 0);
    if (told) remember();
  }

  function remember() {
    history.replaceState(null, "", `#step-${now + 1}`);
    try { localStorage.setItem(key, String(now)); } catch { /* the browser keeps nothing for this page */ }
  }

  function remembered() {
    const asked = /^#step-(\d+)$/.exec(location.hash);
    if (asked) return Number(asked[1]) - 1;
    try { return Number(localStorage.getItem(key)) || 0; } catch { return 0; }
  }

  function go(at) {
    const held = document.activeElement;
    show(at, true);
    if (held && held.disabled) (held === by("back") ? by("next") : by("back")).focus();
  }

  by("back").addEventListener("click", () => go(now - 1));
  by("next").addEventListener("click", () => go(now + 1));
  part.addEventListener("change", () => go(Number(part.value)));
  by("side").addEventListener("click", () => {
    printed = !printed;
    by("side").setAttribute("aria-pressed", String(printed));
    show(now, false);
  });
  addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey || event.target === part) return;
    const to = { ArrowRight: now + 1, ArrowLeft: now - 1, Home: 0, End: items.length - 1 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    go(to);
  });
  let touched = null;
  addEventListener("touchstart", (event) => {
    const [one] = event.touches;
    touched = event.touches.length === 1 ? [one.clientX, one.clientY] : null;
  }, { passive: true });
  addEventListener("touchend", (event) => {
    if (!touched) return;
    const [one] = event.changedTouches;
    const dx = one.clientX - touched[0], dy = one.clientY - touched[1];
    touched = null;
    if (Math.abs(dx) > 60 && Math.abs(dx) > 2.5 * Math.abs(dy)) go(now + (dx < 0 ? 1 : -1));
  }, { passive: true });
  addEventListener("hashchange", () => show(remembered(), false));

  // -- a drawing that is watched

  if (data.events) {
    const news = by("news");
    const stream = new EventSource(data.events);
    let lost = false;
    function say(lines, wrong) {
      news.classList.toggle("wrong", wrong);
      news.replaceChildren(...lines.map((words) => {
        const p = document.createElement("p");
        p.textContent = words;
        return p;
      }));
    }
    stream.addEventListener("changed", () => location.reload());
    stream.addEventListener("faulty", (event) => say(["The drawing cannot be used as it is now; these steps are those from before.", ...JSON.parse(event.data)], true));
    stream.addEventListener("open", () => { if (lost) location.reload(); });
    stream.addEventListener("error", () => {
      lost = true;
      say(["The drawing is no longer watched; these steps are the last ones."], true);
    });
  }

  by("steps").after(by("care")); // it stands before a list of steps, but beside a single one
  document.documentElement.classList.add("one");
  by("lead").hidden = false;
  show(remembered(), false);
})();
