"use strict";
// A form [data-sifts] lists while it is typed in: its page is asked for with what is typed, and the parts of the ids in
// data-sifts are taken from the answer. A link [data-sift] in such a part does the same.
(() => {
  const TYPING_MS = 150;
  let waiting = 0;
  let under = new AbortController();
  const sift = async (form, address) => {
    clearTimeout(waiting);
    under.abort(); // what was asked last is what is shown
    under = new AbortController();
    let text;
    try {
      const answer = await fetch(address, { signal: under.signal });
      if (!answer.ok) throw new Error(answer.status);
      text = await answer.text();
    } catch (error) {
      if (error.name !== "AbortError") location.assign(address); // the browser says what is wrong
      return;
    }
    const came = new DOMParser().parseFromString(text, "text/html");
    const parts = form.dataset.sifts.split(" ");
    if (!parts.every((id) => came.getElementById(id))) {
      location.assign(address); // there is more to show than a list
      return;
    }
    const at = document.activeElement.closest("[data-sift]")?.dataset.sift;
    for (const id of parts) {
      const [part, now] = [document.getElementById(id), came.getElementById(id)];
      part.replaceChildren(...now.childNodes); // the part itself stays, so that a status is read out
      Object.assign(part.dataset, now.dataset);
    }
    // At an end of the list the link is gone: the keyboard goes on at the other one, or at the list.
    const links = at === undefined ? [] : [`[data-sift="${CSS.escape(at)}"]`, "a.button[data-sift]", ".scroll[tabindex]"];
    links.map((each) => document.querySelector(each)).find(Boolean)?.focus();
    history.replaceState(null, "", document.querySelector("[data-address]").dataset.address);
  };
  const typed = (form) => sift(form, `${form.getAttribute("action")}?${new URLSearchParams(new FormData(form))}`);
  const formOf = (event) => event.target.closest("form[data-sifts]");
  document.addEventListener("input", (event) => {
    const form = formOf(event);
    if (!form) return;
    clearTimeout(waiting);
    waiting = setTimeout(() => typed(form), event.target.matches("select") ? 0 : TYPING_MS);
  });
  document.addEventListener("submit", (event) => {
    const form = formOf(event);
    if (!form) return;
    event.preventDefault();
    typed(form);
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-sift]");
    const form = document.querySelector("form[data-sifts]");
    if (!link || !form || event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
    event.preventDefault();
    sift(form, link.href);
  });
  // What was typed before this script came is not lost.
  const early = () => {
    for (const form of document.querySelectorAll("form[data-sifts]"))
      if ([...form.elements].some((each) => each.matches("input") && each.value !== each.defaultValue)) typed(form);
  };
  document.addEventListener("DOMContentLoaded", early);
})();
