"use strict";
// Calibration readings: rows are added, removed and pasted here; what they say comes from the server as they are typed.
(() => {
  const TYPING_MS = 300;
  const form = document.getElementById("readings");
  if (!form) return;
  const pasting = document.getElementById("pasting");
  const rows = form.querySelector(".entry");
  const found = document.getElementById("found");
  const said = document.getElementById("said");
  const all = () => [...rows.querySelectorAll(".entry-row")];
  let asked = 0;
  let soon = 0;
  let refused = false; // a person wanted to save, so that a missing number is named too

  const number = () => all().forEach((row, place) => {
    const name = `${place + 1}`;
    row.setAttribute("aria-label", `Reading ${name}`);
    for (const each of row.querySelectorAll("[aria-label]")) each.setAttribute("aria-label", each.getAttribute("aria-label").replace(/\d+$/, name));
    for (const each of row.querySelectorAll("[aria-describedby]")) each.setAttribute("aria-describedby", each.getAttribute("aria-describedby").replace(/\d+$/, name));
    for (const each of row.querySelectorAll(".fault")) each.id = each.id.replace(/\d+$/, name);
  });
  const say = (markup, kind) => {
    said.innerHTML = kind ? `<p class="${kind}"></p>` : markup;
    if (kind) said.firstChild.textContent = markup;
  };
  const broke = () => say("The connection to the server broke: what is typed is here still. Try again.", "error");
  const ask = async (address, words) => {
    const answer = await fetch(address, words ? { method: "POST", body: words } : {});
    if (answer.ok) return answer.json();
    if (answer.status === 403) say("You are looking only: nothing is changed.", "error");
    else say(`The server did not take this (${answer.status}). Reload the page.`, "error");
    return null;
  };
  const tell = ({ faults, residuals, markup }) => {
    for (const line of form.querySelectorAll(".fault")) {
      const text = faults[line.id.replace("wrong-", "")] || "";
      if (line.textContent === text) continue;
      line.textContent = text;
      form.querySelector(`[aria-describedby="${line.id}"]`).setAttribute("aria-invalid", String(Boolean(text)));
    }
    all().forEach((row, place) => {
      const cell = row.querySelector("output");
      cell.textContent = residuals[place] ?? "–";
      cell.classList.toggle("odd", cell.textContent.endsWith("!"));
    });
    found.innerHTML = markup;
  };
  // What is saved is asked for by GET, which who only looks may do; what is typed by POST.
  const attempt = async (typed = true) => {
    clearTimeout(soon);
    soon = 0;
    const mine = (asked += 1);
    const words = typed && new URLSearchParams(new FormData(form));
    const address = new URL(form.action, location.href);
    if (refused) address.searchParams.set("refused", "1");
    try {
      const told = await ask(address, words);
      if (told && mine === asked) tell(told);
    } catch {
      if (mine === asked) broke();
    }
  };
  const add = (values = {}) => {
    const row = form.querySelector("template").content.firstElementChild.cloneNode(true);
    for (const [key, value] of Object.entries(values)) row.querySelector(`[name=${key}]`).value = value;
    rows.append(row);
    number();
    return row;
  };
  const valueOf = (row, name) => row.querySelector(`[name=${name}]`).value;
  const next = () => {
    const last = all().at(-1);
    return add(last ? { direction: valueOf(last, "direction"), repeat: valueOf(last, "repeat") } : {});
  };
  form.addEventListener("input", (event) => {
    clearTimeout(soon);
    soon = setTimeout(attempt, event.target.matches("select") ? 0 : TYPING_MS);
  });
  form.addEventListener("focusout", () => { if (soon) attempt(); });
  form.addEventListener("keydown", (event) => {
    const row = event.target.closest(".entry-row");
    if (event.key !== "Enter" || !row || !event.target.matches("input")) return;
    event.preventDefault(); // it goes to the reading below, and makes one below the last
    const below = row.nextElementSibling || next();
    below.querySelector(`[name=${event.target.name}]`).focus();
  });
  form.addEventListener("click", (event) => {
    if (event.target.closest("[data-add]")) next().querySelector("input").focus();
    const remove = event.target.closest("[data-remove]");
    if (!remove) return;
    const row = remove.closest(".entry-row");
    const other = row.nextElementSibling || row.previousElementSibling;
    row.remove();
    if (!all().length) add();
    number();
    (other?.querySelector("[data-remove]") || all()[0].querySelector("input")).focus();
    attempt();
  });
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      const told = await ask(form.dataset.keep, new URLSearchParams(new FormData(form)));
      if (!told) return;
      refused = !told.saved;
      say(told.said, told.saved ? "good" : "");
      if (told.saved) window.strikeproofSaved();
      else attempt();
    } catch {
      broke();
    }
  });
  pasting.addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      const told = await ask(pasting.getAttribute("action"), new URLSearchParams(new FormData(pasting)));
      if (!told) return;
      say(told.said || "");
      if (!told.rows) return;
      for (const row of all()) if (!valueOf(row, "applied").trim() && !valueOf(row, "reading").trim()) row.remove();
      for (const values of told.rows) add(values);
      pasting.reset();
      attempt();
    } catch {
      broke();
    }
  });
  attempt(false);
})();
