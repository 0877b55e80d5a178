"use strict";
// The steps of a plan: what is changed in a field [data-at], or pressed [data-do], goes to the server at once, one after the
// other. Its answer is the page as it is then, of which the parts that changed are taken; where runs would feel a change, it
// is a question first.
(() => {
  let turn = Promise.resolve();
  const plan = () => document.getElementById("plan");
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
  const swap = (part, now) => {
    const focus = part.contains(document.activeElement) ? mark(document.activeElement) : "";
    part.replaceChildren(...now.childNodes);
    if (focus) part.querySelector(focus)?.focus({ preventScroll: true });
  };
  const tell = (step, now) => {
    for (const each of now.querySelectorAll("[data-at]")) {
      const field = step.querySelector(attribute(each, "at") + (each.dataset.do ? attribute(each, "do") : ""));
      const said = field?.closest(".box")?.querySelector(".fault");
      if (!said) continue;
      field.setAttribute("aria-invalid", each.getAttribute("aria-invalid"));
      const text = each.closest(".box").querySelector(".fault").textContent;
      if (said.textContent !== text) said.textContent = text; // is read out once
    }
    for (const each of now.querySelectorAll("[data-name]")) step.querySelector(attribute(each, "name")).textContent = each.textContent;
    for (const each of now.querySelectorAll("[data-fill]")) {
      const place = document.getElementById(each.id);
      if (place.dataset.fill === each.dataset.fill) continue;
      Object.assign(place.dataset, each.dataset);
      place.dispatchEvent(new CustomEvent("fill", { bubbles: true }));
    }
  };
  const take = (markup, anew) => {
    const came = new DOMParser().parseFromString(markup, "text/html").getElementById("plan");
    plan().dataset.mark = came.dataset.mark;
    for (const id of ["plan-bar", "plan-steps"]) swap(document.getElementById(id), came.querySelector(`#${id}`));
    const step = document.getElementById("step");
    if (!anew) tell(step, came.querySelector("#step"));
    else {
      swap(step, came.querySelector("#step"));
      step.dispatchEvent(new CustomEvent("begin", { bubbles: true }));
    }
  };
  const act = async (words) => {
    const body = new URLSearchParams({ ...words, mark: plan().dataset.mark });
    let told;
    try {
      const answer = await fetch(plan().dataset.changes, { method: "POST", body });
      if (!answer.ok) throw new Error(answer.status === 403 ? "You are looking only: nothing was changed." : `The server answered ${answer.status}.`);
      told = await answer.json();
    } catch (error) {
      trouble('<p class="what"></p>');
      document.querySelector("#trouble .what").textContent = error instanceof TypeError ? "The line to the server broke: the last change is not saved." : error.message;
      return;
    }
    const { ask, say } = window.strikeproofAsk;
    trouble(told.wrong);
    if (told.ask && await ask("Runs were made already", told.ask)) {
      await act({ ...words, agreed: "1" });
      return;
    }
    if (told.page) take(told.page, told.anew);
    if (told.never) await say("This cannot be done", told.never);
    if (told.notes?.length) await say("The run sheet was changed", told.notes);
  };
  const queue = (words) => {
    turn = turn.then(() => act(typeof words === "function" ? words() : words));
    return turn;
  };
  document.addEventListener("change", (event) => {
    const field = event.target.closest("#step [data-at]");
    if (field) queue({ do: field.dataset.sets || "set", at: field.dataset.at, text: field.value });
  });
  document.addEventListener("click", async (event) => {
    const button = event.target.closest("#plan button[data-do]");
    if (!button) return;
    const { do: what, at = "", asks, says, yes, no } = button.dataset;
    await turn; // a name that was typed last counts
    if (asks && !await window.strikeproofAsk.ask(asks, says ? [says] : [], yes, no)) return;
    const typed = button.closest("[data-form]")?.querySelectorAll("[data-new]") || [];
    queue({ do: what, at, ...Object.fromEntries([...typed].map((each) => [each.dataset.new, each.value])) });
  });
})();
