"use strict";
(() => {
  const table = document.querySelector("table");
  const body = table.tBodies[0];
  const rows = Array.from(body.rows);
  const heads = Array.from(table.tHead.rows[0].cells);
  const form = document.querySelector("form");
  const search = document.getElementById("search");
  const failing = document.getElementById("failing");
  const boxes = Array.from(form.querySelectorAll("input[name=verdict]"));
  const shown = document.getElementById("shown");
  const searched = heads.map((head) => head.dataset.name === "block" || head.dataset.name === "remarks");
  const text = (row) => Array.from(row.cells).filter((_, k) => searched[k]).map((cell) => cell.textContent).join(" ");
  const texts = new Map(rows.map((row) => [row, text(row).toLowerCase()]));
  const compare = new Intl.Collator(undefined, { numeric: true, sensitivity: "base" }).compare;

  function tell() {
    const visible = rows.filter((row) => !row.hidden).length;
    const sorted = heads.find((head) => head.getAttribute("aria-sort") !== null);
    const order = sorted ? `, sorted by ${sorted.dataset.name} (${sorted.getAttribute("aria-sort")})` : "";
    shown.textContent = `${visible} of ${rows.length} rows are shown${order}.`;
  }

  function filter() {
    const wanted = search.value.trim().toLowerCase().split(/\s+/);
    const verdicts = new Set(boxes.filter((box) => box.checked).map((box) => box.value));
    for (const row of rows) {
      const found = wanted.every((word) => texts.get(row).includes(word));
      row.hidden = !(found && verdicts.has(row.dataset.verdict) && (!failing.checked || row.dataset.fails === "yes"));
    }
    tell();
  }

  // Rows without a value stand last, whichever way the others are sorted; rows with the same value keep their order.
  function sort(head) {
    const column = heads.indexOf(head);
    const order = head.getAttribute("aria-sort") === "ascending" ? "descending" : "ascending";
    const turn = order === "ascending" ? 1 : -1;
    const values = new Map(rows.map((row) => [row, row.cells[column].dataset.value]));
    rows.sort((a, b) => {
      const x = values.get(a), y = values.get(b);
      if (x === "" || y === "") return (x === "") - (y === "");
      return turn * compare(x, y);
    });
    body.append(...rows);
    for (const other of heads) other.removeAttribute("aria-sort");
    head.setAttribute("aria-sort", order);
    tell();
  }

  for (const head of heads) {
    const button = head.querySelector("button");
    if (button) button.addEventListener("click", () => sort(head));
  }
  form.addEventListener("input", filter);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", () => setTimeout(filter, 0));
  form.hidden = false;
  filter();
})();
