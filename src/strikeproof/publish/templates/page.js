"use strict";
(() => {
  const table = document.getElementById("runs-table");
  const tools = document.getElementById("runs-tools");
  if (!table || !tools) return;
  tools.hidden = false;
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const words = document.getElementById("runs-find");
  const aside = document.getElementById("runs-aside");
  const count = document.getElementById("runs-count");
  const keyOf = (row, column) => {
    const cell = row.cells[column];
    return cell.dataset.key === undefined ? cell.textContent.trim() : cell.dataset.key;
  };
  const compare = (a, b) => {
    if (a === "" || b === "") return (a === "") - (b === "");
    const difference = Number(a) - Number(b);
    return Number.isNaN(difference) ? a.localeCompare(b, undefined, { numeric: true }) : difference;
  };
  const show = () => {
    const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const row of rows) {
      const text = row.textContent.toLowerCase();
      const fits = wanted.every((word) => text.includes(word)) && (!aside.checked || row.classList.contains("aside"));
      row.hidden = !fits;
      shown += fits;
    }
    count.textContent = count.dataset.says.replace("{shown}", shown).replace("{all}", rows.length);
  };
  [...table.tHead.rows[0].cells].forEach((head, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = head.textContent.trim();
    head.replaceChildren(button);
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending";
      for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      const sorted = rows.slice().sort((a, b) => {
        const order = compare(keyOf(a, column), keyOf(b, column));
        return down ? -order : order;
      });
      body.append(...sorted);
    });
  });
  words.addEventListener("input", show);
  aside.addEventListener("change", show);
  show();
})();
