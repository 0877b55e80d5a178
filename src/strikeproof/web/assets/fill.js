"use strict";
// A place [data-fill] fills itself from its address: progress, a line of JSON each, then the markup. A form
// [data-fills] fills the place of that id when it is sent, by its own method. Where markup has come into a place, the
// place gets the event "filled", for scripts that have something to do in it.
(() => {
  const TOLD_MS = 350; // work that ends sooner shows no progress
  const NOT_GIVEN = {
    401: "You are signed out.", 403: "You are looking only: nothing was changed.", 404: "The campaign is not there any more.",
    503: "Too much other work is under way.",
  };
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
  const tell = (box, { done, total, name, says, job, keeps }) => {
    if (job) box.dataset.job = job;
    if (keeps) box.querySelector("button").textContent = "Stop and keep what is found";
    if (!total && !says) return;
    box.querySelector(".step").textContent = says || `${done} of ${total} ${name}`.trim();
    if (total) box.querySelector("progress").value = done / total;
  };
  const offer = (place, markup, again) => {
    const box = document.createElement("div");
    box.className = "error";
    box.setAttribute("role", "alert");
    box.innerHTML = markup;
    place.replaceChildren(box);
    if (!again) return;
    const button = document.createElement("button");
    Object.assign(button, { type: "button", className: "button", textContent: "Try again" });
    button.addEventListener("click", again);
    place.append(button);
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
        if (["markup", "error", "wrong", "go"].some((key) => told[key] !== undefined)) return told;
        tell(box, told);
      }
      if (done) throw new Error("the line broke");
    }
  };
  const go = (address) => {
    const to = new URL(address, location.href);
    if (to.href === location.href) location.reload();
    else location.assign(to);
  };
  const show = (place, told, again) => {
    if (told.go !== undefined) go(told.go);
    else if (told.wrong !== undefined) offer(place, told.wrong);
    else if (told.error !== undefined) offer(place, told.error, again);
    else {
      place.innerHTML = told.markup;
      begin(place);
      place.dispatchEvent(new CustomEvent("filled", { bubbles: true }));
    }
  };
  // `ask` is an address and what else the browser's own fetch takes.
  const fill = async (place, ask, title) => {
    if (place.leave) place.leave.abort("another"); // what was asked last is what is shown
    const leave = new AbortController();
    place.leave = leave;
    const box = panel(title, () => {
      if (box.dataset.job) fetch(`/data/stop?job=${box.dataset.job}`, { method: "POST" });
      else leave.abort("stop");
    });
    const again = () => fill(place, ask, title);
    place.replaceChildren(box);
    try {
      const { address, ...how } = ask;
      const told = await read(await fetch(address, { ...how, signal: leave.signal }), box);
      if (place.leave === leave) show(place, told, again);
    } catch {
      if (place.leave !== leave) return;
      const what = leave.signal.aborted ? "This was stopped." : "The line to the server broke.";
      offer(place, `<p class="what">${what}</p>`, again);
    }
  };
  const begin = (around) => {
    for (const place of around.querySelectorAll("[data-fill]")) fill(place, { address: place.dataset.fill }, place.dataset.title);
  };
  document.addEventListener("DOMContentLoaded", () => begin(document));
  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form[data-fills]");
    if (!form) return;
    event.preventDefault();
    const words = new URLSearchParams(new FormData(form, event.submitter));
    const address = event.submitter?.getAttribute("formaction") || form.getAttribute("action");
    const ask = form.method === "post" ? { address, method: "POST", body: words } : { address: `${address}?${words}` };
    fill(document.getElementById(form.dataset.fills), ask, form.dataset.title);
  });
})();
