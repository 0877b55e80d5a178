"use strict";
// A place [data-fill] fills itself from its address: progress, a line of JSON each, then the markup. A form
// [data-fills] fills the place of that id when it is sent.
(() => {
  const TOLD_MS = 350; // work that ends sooner shows no progress
  const NOT_GIVEN = { 401: "You are signed out.", 404: "The campaign is not there any more.", 503: "Too much other work is under way." };
  const panel = (title, stop) => {
    const box = document.createElement("div");
    Object.assign(box, { className: "working", hidden: true });
    box.setAttribute("role", "status");
    box.innerHTML = '<strong></strong><progress max="1"></progress><span class="step">starting</span><button type="button" class="button">Stop</button>';
    box.querySelector("strong").textContent = title;
    box.querySelector("progress").setAttribute("aria-label", title);
    box.querySelector("button").addEventListener("click", stop);
    setTimeout(() => { box.hidden = false; }, TOLD_MS);
    return box;
  };
  const tell = (box, { done, total, name }) => {
    if (!total) return;
    box.querySelector(".step").textContent = `${done} of ${total} ${name}`.trim();
    box.querySelector("progress").value = done / total;
  };
  const offer = (place, markup, again) => {
    const box = document.createElement("div");
    box.className = "error";
    box.setAttribute("role", "alert");
    box.innerHTML = markup;
    const button = document.createElement("button");
    Object.assign(button, { type: "button", className: "button", textContent: "Try again" });
    button.addEventListener("click", again);
    place.replaceChildren(box, button);
  };
  const read = async (answer, box) => {
    if (!answer.ok) return { error: `<p class="what">${NOT_GIVEN[answer.status] || `The server answered ${answer.status}.`}</p><p class="fix">To fix it: reload the page.</p>` };
    const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
    let kept = "";
    for (;;) {
      const { done, value } = await reader.read();
      const lines = (kept + (value || "")).split("\n");
      kept = lines.pop();
      for (const line of lines) {
        const told = JSON.parse(line);
        if (told.markup !== undefined || told.error !== undefined) return told;
        tell(box, told);
      }
      if (done) throw new Error("the line broke");
    }
  };
  const fill = async (place, address, title) => {
    const leave = new AbortController();
    const box = panel(title, () => leave.abort());
    const again = () => fill(place, address, title);
    place.replaceChildren(box);
    try {
      const told = await read(await fetch(address, { signal: leave.signal }), box);
      if (told.error !== undefined) offer(place, told.error, again);
      else place.innerHTML = told.markup;
    } catch {
      const what = leave.signal.aborted ? "This was stopped." : "The line to the server broke.";
      offer(place, `<p class="what">${what}</p>`, again);
    }
  };
  document.addEventListener("DOMContentLoaded", () => {
    for (const place of document.querySelectorAll("[data-fill]")) fill(place, place.dataset.fill, place.dataset.title);
  });
  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form[data-fills]");
    if (!form) return;
    event.preventDefault();
    const words = new URLSearchParams(new FormData(form));
    fill(document.getElementById(form.dataset.fills), `${form.getAttribute("action")}?${words}`, form.dataset.title);
  });
})();
