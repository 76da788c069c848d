"use strict";
(() => {
  const CHUNK = 12; // rows that are made and taken away together
  const place = document.getElementById("table");
  // One row a line; head and end of the table stand on lines of their own. The text comes in pieces, as browsers part
  // long ones; it is cut where it stands, for a copy would take as much memory again.
  const lines = [];
  let rest = "";
  for (const piece of place.querySelector("noscript").childNodes) {
    const text = piece.data;
    let from = 0;
    for (let to = text.indexOf("\n"); to >= 0; to = text.indexOf("\n", from)) {
      const line = rest + text.slice(from, to);
      if (line) lines.push(line);
      rest = "";
      from = to + 1;
    }
    rest += text.slice(from);
  }
  place.innerHTML = lines[0] + lines[lines.length - 1];
  const rows = lines.slice(1, -1);
  const source = document.getElementById("index");
  const index = JSON.parse(source.textContent);
  source.remove();
  const table = place.querySelector("table");
  const heads = Array.from(table.tHead.rows[0].cells);
  const names = heads.map((head) => head.dataset.name);
  const form = document.querySelector("form");
  const field = form.elements;
  const boxes = Array.from(form.querySelectorAll("input[name=verdict]"));
  const choices = ["level", "rule", "fault", "folder"].filter((name) => field[name]);
  const shown = document.getElementById("shown");
  const compare = new Intl.Collator("en", { numeric: true, sensitivity: "base" }).compare;

  // -- which rows, in which order

  function fits() {
    const wanted = field.search.value.trim().toLowerCase().split(/\s+/).filter(Boolean);
    const verdicts = new Set(boxes.filter((box) => box.checked).map((box) => box.value));
    const chosen = Object.fromEntries(choices.map((name) => [name, field[name].value]));
    return (at) => {
      const row = index[at];
      return verdicts.has(row.verdict) && (!field.failing.checked || row.fails)
        && (!chosen.level || String(row.level) === chosen.level)
        && (!chosen.rule || row.rules.includes(chosen.rule))
        && (!chosen.fault || row.faults.includes(chosen.fault))
        && (!chosen.folder || row.folder === chosen.folder || row.folder.startsWith(chosen.folder + "/"))
        && wanted.every((word) => row.text.includes(word));
    };
  }

  const orders = new Map(); // of each column, from small to large
  // Rows without a value stand last, whichever way the others are sorted; rows with the same value keep their order.
  function ordered() {
    const column = names.indexOf(field.sort.value);
    if (column < 0) return index.map((_, at) => at);
    const turn = field.descending.checked ? -1 : 1;
    if (!orders.has(column * turn)) {
      const value = (at) => index[at].values[column];
      const by = (x, y) => (typeof x === "number" ? x - y : compare(x, y));
      const known = index.map((_, at) => at).filter((at) => value(at) !== null);
      const rest = index.map((_, at) => at).filter((at) => value(at) === null);
      orders.set(column * turn, known.sort((a, b) => turn * by(value(a), value(b)) || a - b).concat(rest));
    }
    return orders.get(column * turn);
  }

  // -- rows in view

  const open = new Set(); // rows whose warnings are unfolded
  let parts = []; // chunks: their rows, element, height, and whether the rows are there
  const unfolded = []; // what is unfolded for print alone
  let every = false; // all rows are there, to be printed
  const watch = new IntersectionObserver((entries) => {
    for (const entry of entries) {
      const part = parts[Number(entry.target.dataset.part)];
      if (!part || part.body !== entry.target) continue;
      if (entry.isIntersecting) fill(part);
      else if (!every && !part.body.contains(document.activeElement)) empty(part);
    }
  }, { rootMargin: "1000px 0px" });

  function fill(part) {
    if (part.filled) return;
    part.body.innerHTML = part.rows.map((at) => rows[at]).join("");
    part.filled = true;
    Array.from(part.body.rows).forEach((row, k) => {
      row.setAttribute("aria-rowindex", part.first + k + 2);
      const folded = row.querySelector("details");
      if (!folded) return;
      folded.open = open.has(part.rows[k]);
      folded.addEventListener("toggle", () => {
        if (!unfolded.includes(folded)) open[folded.open ? "add" : "delete"](part.rows[k]);
      });
    });
  }

  const gap = document.createElement("tr"); // stands for the rows of a chunk
  gap.className = "gap";
  gap.setAttribute("aria-hidden", "true");
  gap.append(document.createElement("td"));
  gap.firstChild.colSpan = heads.length;
  let usual = 12.5 * parseFloat(getComputedStyle(document.documentElement).fontSize); // height of a row
  function empty(part) {
    if (part.filled) {
      part.height = part.body.getBoundingClientRect().height;
      if (part.height) usual = part.height / part.rows.length;
    }
    part.filled = false;
    const height = part.height || usual * part.rows.length;
    const row = gap.cloneNode(true);
    row.firstChild.style.height = `${height}px`;
    part.body.replaceChildren(row);
  }

  function lay(visible) {
    watch.disconnect();
    for (const part of parts) part.body.remove();
    parts = [];
    for (let first = 0; first < visible.length; first += CHUNK) {
      const body = document.createElement("tbody");
      body.dataset.part = parts.length;
      parts.push({ rows: visible.slice(first, first + CHUNK), body, first, filled: false, height: 0 });
    }
    for (const part of parts) empty(part);
    if (parts.length) fill(parts[0]);
    if (every) parts.forEach(fill);
    for (const body of Array.from(table.tBodies)) body.remove();
    table.append(...parts.map((part) => part.body));
    for (const part of parts) watch.observe(part.body);
    table.setAttribute("aria-rowcount", visible.length + 1);
  }

  function print() {
    every = true;
    for (const part of parts) fill(part);
    for (const folded of document.querySelectorAll("details:not([open])")) {
      folded.open = true;
      unfolded.push(folded);
    }
  }

  function printed() {
    every = false;
    for (const folded of unfolded.splice(0)) folded.open = false;
    for (const part of parts) {
      watch.unobserve(part.body);
      watch.observe(part.body); // tells anew what is in view
    }
  }

  // -- what is asked for, and the address of the page, which says the same

  function tell(count) {
    const sorted = field.sort.value;
    const way = field.descending.checked ? "descending" : "ascending";
    for (const head of heads) {
      if (head.dataset.name === sorted) head.setAttribute("aria-sort", way);
      else head.removeAttribute("aria-sort");
    }
    const order = sorted ? `, sorted by ${sorted} (${way})` : "";
    shown.textContent = `${count} of ${rows.length} rows are shown${order}.`;
  }

  function show() {
    const visible = ordered().filter(fits());
    lay(visible);
    tell(visible.length);
  }

  function address() {
    const state = new URLSearchParams();
    for (const name of ["search", ...choices, "sort"]) if (field[name].value) state.set(name, field[name].value);
    for (const name of ["failing", "descending"]) if (field[name].checked) state.set(name, "yes");
    if (boxes.some((box) => !box.checked)) {
      state.set("verdict", boxes.filter((box) => box.checked).map((box) => box.value).join(","));
    }
    const text = state.toString();
    return text ? `#${text}` : "#";
  }

  function changed() {
    history.replaceState(null, "", address());
    show();
  }

  function restore() {
    const text = location.hash.slice(1);
    if (text && !text.includes("=")) return; // a place in the page
    const state = new URLSearchParams(text);
    for (const name of ["search", ...choices, "sort"]) {
      field[name].value = state.get(name) || "";
      if (field[name].selectedIndex === -1) field[name].value = "";
    }
    for (const name of ["failing", "descending"]) field[name].checked = state.get(name) === "yes";
    const verdicts = state.has("verdict") ? state.get("verdict").split(",") : null;
    for (const box of boxes) box.checked = !verdicts || verdicts.includes(box.value);
  }

  for (const head of heads) {
    const button = head.querySelector("button");
    if (!button) continue;
    button.addEventListener("click", () => {
      field.descending.checked = field.sort.value === head.dataset.name && !field.descending.checked;
      field.sort.value = head.dataset.name;
      changed();
    });
  }
  field.search.addEventListener("input", changed);
  form.addEventListener("change", (event) => { if (event.target !== field.search) changed(); });
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", () => setTimeout(changed, 0));
  addEventListener("hashchange", () => { restore(); show(); });
  addEventListener("beforeprint", print);
  addEventListener("afterprint", printed);
  matchMedia("print").addEventListener("change", (event) => (event.matches ? print() : printed()));
  form.hidden = false;
  restore();
  show();
})();
