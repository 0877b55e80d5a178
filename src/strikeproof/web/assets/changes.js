"use strict";
// Forms whose changes are saved at once: what is changed in a field [data-at] of #step, or pressed [data-do], goes to the
// server as it comes, one after the other. Its answer is the page as it is then, of which the parts that changed are taken:
// all [data-part], and #step again where it has other fields; where runs would feel a change, it is a question first. A form
// with data-judges also asks while a person types; what is being typed stays in its field whatever comes.
(() => {
  const TYPING_MS = 120;
  let turn = Promise.resolve();
  let judging = 0;
  const typed = new Map(); // what is in fields and is not saved yet, by their places
  const leaving = new Set(); // those of them whose change is on its way
  const earlier = []; // of a form that takes back its own changes: what it held before each
  const plan = () => document.getElementById("plan");
  const note = (id, text) => {
    const at = document.getElementById(id);
    if (at && at.textContent !== text) at.textContent = text; // is read out once
  };
  const trouble = (markup) => {
    const at = document.getElementById("trouble");
    at.innerHTML = markup ? `<div class="error" role="alert">${markup}</div>` : "";
  };
  const attribute = (each, name) => `[data-${name}="${CSS.escape(each.dataset[name])}"]`;
  // How the focused element is found again in another drawing of the page.
  const mark = (each) => {
    const named = ["do", "at", "key", "new", "add"].filter((name) => each?.dataset?.[name] !== undefined);
    return named.map((name) => attribute(each, name)).join("");
  };
  // What is typed and not saved yet stays in a field that is drawn again.
  const retype = (step) => {
    for (const [at, text] of typed) {
      const field = step.querySelector(`[data-at="${CSS.escape(at)}"]`);
      if (!field || field.value === text) continue;
      field.value = text;
      if (field.dataset.guard) field.dataset.unsaved = 1;
    }
  };
  const swap = (part, now) => {
    const inside = part.contains(document.activeElement);
    const focus = inside ? mark(document.activeElement) : "";
    const folds = (around) => [...around.querySelectorAll("details")];
    const open = folds(part).map((each) => each.open);
    part.replaceChildren(...now.childNodes);
    for (const name of ["class", "aria-label"]) if (now.hasAttribute(name)) part.setAttribute(name, now.getAttribute(name));
    if (folds(part).length === open.length) folds(part).forEach((each, at) => { each.open ||= open[at]; });
    if (part.id === "step") retype(part);
    if (!inside) return;
    const again = (focus && [...part.querySelectorAll(focus)].find((each) => !each.disabled)) || part;
    if (again === part) part.tabIndex = -1; // what had the focus is gone: the keyboard goes on from here
    again.focus({ preventScroll: true });
  };
  const tell = (step, now) => {
    for (const each of now.querySelectorAll("[data-at]")) {
      const field = step.querySelector(attribute(each, "at") + (each.dataset.do ? attribute(each, "do") : ""));
      const box = field?.closest(".box");
      if (!box) continue;
      field.setAttribute("aria-invalid", each.getAttribute("aria-invalid"));
      for (const kind of [".fault", ".doubt"]) {
        const said = box.querySelector(kind);
        const text = each.closest(".box").querySelector(kind)?.textContent || "";
        if (said && said.textContent !== text) said.textContent = text; // is read out once
      }
    }
    for (const name of ["name", "around"]) {
      for (const each of now.querySelectorAll(`[data-${name}]`)) {
        const said = step.querySelector(attribute(each, name));
        if (said && said.textContent !== each.textContent) said.textContent = each.textContent;
      }
    }
    for (const each of now.querySelectorAll("[data-fill]")) {
      const place = document.getElementById(each.id);
      if (place.dataset.fill === each.dataset.fill) continue;
      Object.assign(place.dataset, each.dataset);
      place.dispatchEvent(new CustomEvent("fill", { bubbles: true }));
    }
  };
  const take = (markup, anew) => {
    const came = new DOMParser().parseFromString(markup, "text/html").getElementById("plan");
    if (came.dataset.mark) plan().dataset.mark = came.dataset.mark;
    for (const part of plan().querySelectorAll("[data-part]")) {
      const now = came.querySelector(`#${part.id}`);
      if (now && now.dataset.stale === undefined) swap(part, now);
      part.classList.toggle("stale", Boolean(now) && now.dataset.stale !== undefined); // the last figures stay, marked
    }
    const step = document.getElementById("step");
    const now = came.querySelector("#step");
    if (now && !anew) tell(step, now);
    else if (now) {
      swap(step, now);
      step.dispatchEvent(new CustomEvent("begin", { bubbles: true }));
    }
    const undo = plan().querySelector("[data-earlier]");
    if (undo) undo.disabled = !earlier.length;
  };
  const ask = async (address, words) => {
    const own = [...plan().querySelectorAll("[data-typed]")].filter((each) => each.dataset.own);
    const beside = Object.fromEntries(own.map((each) => [each.dataset.typed, each.value]));
    const answer = await fetch(address, { method: "POST", body: new URLSearchParams({ ...beside, ...words }) });
    if (answer.status === 403) throw new Error("You are looking only: nothing was changed.");
    if (!answer.ok) throw new Error(`The server answered ${answer.status}.`);
    return answer.json();
  };
  // To the first of these selectors that leads to something.
  const go = (at) => [at].flat().map((each) => plan().querySelector(each)).find(Boolean)?.focus();
  const act = async (words) => {
    let told;
    try {
      told = await ask(plan().dataset.changes, { ...words, mark: plan().dataset.mark });
    } catch (error) {
      trouble('<p class="what"></p>');
      document.querySelector("#trouble .what").textContent = error instanceof TypeError ? "The connection to the server broke: the last change is not saved." : error.message;
      return;
    }
    const { ask: asks, say } = window.strikeproofAsk;
    trouble(told.wrong);
    note("told", told.told || "");
    if (told.ask && await asks(told.ask.title, told.ask.says, told.ask.yes, told.ask.no)) {
      await act({ ...words, agreed: "1" });
      return;
    }
    if (told.before) earlier.push(told.before);
    if (told.undone) earlier.pop();
    if (told.page) take(told.page, told.anew);
    if (told.at?.length) go(told.at);
    else if (told.focus) go(`#step [data-at="${CSS.escape(told.focus)}"]`);
    if (told.never) await say("This cannot be done", told.never);
    if (told.notes?.length) await say("The run sheet was changed", told.notes);
    if (typed.size) judge(); // what is being typed meanwhile
  };
  const queue = (words) => {
    turn = turn.then(() => act(typeof words === "function" ? words() : words));
    return turn;
  };
  // What the form comes to with what is being typed; one question waits at a time.
  const judge = () => {
    if (judging || !plan().dataset.judges) return;
    judging = setTimeout(() => {
      turn = turn.then(async () => {
        judging = 0;
        if (!plan()) return;
        const told = await ask(plan().dataset.judges, { typed: JSON.stringify(Object.fromEntries(typed)) }).catch(() => ({}));
        if (told.page) take(told.page, false);
      });
    }, TYPING_MS);
  };
  document.addEventListener("input", (event) => {
    const field = event.target.closest("#plan [data-at]");
    if (!field || !plan().dataset.judges || field.matches("select, [type=checkbox]")) return;
    if (field.dataset.typed) field.dataset.own = "1";
    else typed.set(field.dataset.at, field.value);
    judge();
  });
  document.addEventListener("focusout", (event) => {
    // A field typed back to what it was has no change.
    const at = event.target.dataset?.at;
    if (!leaving.has(at) && typed.delete(at) && plan()) judge();
  });
  document.addEventListener("change", (event) => {
    const field = event.target.closest("#step [data-at]");
    if (!field) return;
    const text = field.type === "checkbox" ? (field.checked ? "on" : "") : field.value;
    const { at, sets = "set" } = field.dataset;
    leaving.add(at);
    queue(() => {
      leaving.delete(at);
      if (typed.get(at) === text) typed.delete(at);
      return { do: sets, at, text };
    });
  });
  // Enter adds what is typed beside a button, as a press of it does.
  document.addEventListener("keydown", (event) => {
    const add = event.key === "Enter" && event.target.matches("#plan input[data-new]") && event.target.closest("[data-form]")?.querySelector("[data-add]");
    if (!add) return;
    event.preventDefault();
    add.click();
  });
  document.addEventListener("click", async (event) => {
    const button = event.target.closest("#plan button[data-do]");
    if (!button) return;
    const { do: what, at = "", asks, says, yes, no, tables } = button.dataset;
    await turn; // a name that was typed last counts
    if (asks && !await window.strikeproofAsk.ask(asks, says ? [says] : [], yes, no)) return;
    const beside = button.closest("[data-form]")?.querySelectorAll("[data-new]") || [];
    const words = { do: what, at, ...Object.fromEntries([...beside].map((each) => [each.dataset.new, each.value])) };
    if (tables !== undefined) words.tables = tables;
    queue(() => (button.dataset.earlier === undefined ? words : { ...words, tables: earlier.at(-1) || "" }));
  });
})();
