"use strict";
// A place [data-fill] fills itself from its address: progress, a line of JSON each, then the markup. A form
// [data-fills] fills the place of that id when it is sent, by its own method. Where markup has come into a place, the
// place gets the event "filled", for scripts that have something to do in it, and a form [data-now] in it is sent at
// once, to join work that is under way. An answer stays, marked, until the next one is there.
(() => {
  const TOLD_MS = 350; // work that ends sooner shows no progress
  const NOT_GIVEN = {
    401: "You are signed out.", 403: "You are looking only: nothing was changed.", 503: "Too much other work is under way.",
  };
  const STOPPED = "<p>Stopped. What was worked out is saved; started again, it goes on from there.</p>";
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
  const button = (text, press) => {
    const made = document.createElement("button");
    Object.assign(made, { type: "button", className: "button", textContent: text });
    made.dataset.said = "";
    made.addEventListener("click", press);
    return made;
  };
  const word = (kind, role, markup) => {
    const box = document.createElement("div");
    box.className = kind;
    box.setAttribute("role", role);
    box.dataset.said = "";
    box.innerHTML = markup;
    return box;
  };
  // Other content for a place; whoever was in it with the keyboard is in it afterwards too.
  const put = (place, ...parts) => {
    const inside = place.contains(document.activeElement);
    place.replaceChildren(...parts.filter(Boolean));
    if (inside && !place.contains(document.activeElement)) {
      place.tabIndex = -1;
      place.focus();
    }
  };
  // The answer of a place, in a box of its own while the next one is worked out.
  const aside = (place) => {
    if (!place.answered) return null;
    if (place.before) return place.before;
    const box = document.createElement("div");
    box.className = "stale";
    box.hidden = Boolean(place.querySelector(":scope > .empty")); // that is no answer
    box.append(...[...place.childNodes].filter((each) => each.dataset?.said === undefined));
    return box;
  };
  const refused = async (answer) => {
    let told = { problem: NOT_GIVEN[answer.status] || `the server answered ${answer.status}`, fix: "reload the page" };
    if (answer.status === 404 && (answer.headers.get("content-type") || "").includes("json")) told = await answer.json();
    const box = document.createElement("div");
    for (const [kind, text] of [["what", told.problem], ["fix", `To fix it: ${told.fix}`]]) {
      const line = document.createElement("p");
      line.className = kind;
      line.textContent = text.charAt(0).toUpperCase() + text.slice(1);
      box.append(line);
    }
    return { error: box.innerHTML };
  };
  const read = async (answer, box) => {
    if (!answer.ok) return refused(answer);
    const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
    let kept = "";
    for (;;) {
      const { done, value } = await reader.read();
      const lines = (kept + (value || "")).split("\n");
      kept = lines.pop();
      for (const line of lines) {
        const told = JSON.parse(line);
        if (["markup", "error", "wrong", "stopped", "go"].some((key) => told[key] !== undefined)) return told;
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
    const { before } = place;
    if (told.go !== undefined) {
      go(told.go);
      return;
    }
    place.before = null;
    place.answered = told.markup !== undefined || Boolean(before);
    if (told.markup !== undefined) {
      const made = document.createElement("template");
      made.innerHTML = told.markup;
      put(place, ...made.content.childNodes);
      begin(place);
      place.dispatchEvent(new CustomEvent("filled", { bubbles: true }));
      const now = place.querySelector("form[data-now]");
      if (now) now.requestSubmit();
      return;
    }
    const kept = before ? [...before.childNodes] : [];
    if (told.stopped) put(place, word("notice", "status", STOPPED), button("Go on", again), ...kept);
    else if (told.wrong !== undefined) put(place, word("error", "alert", told.wrong), ...kept);
    else put(place, word("error", "alert", told.error), button("Try again", again), ...kept);
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
    place.before = aside(place);
    put(place, box, place.before);
    try {
      const { address, ...how } = ask;
      const told = await read(await fetch(address, { ...how, signal: leave.signal }), box);
      if (place.leave === leave) show(place, told, again);
    } catch {
      if (place.leave !== leave) return;
      show(place, leave.signal.aborted ? { stopped: true } : { error: '<p class="what">The line to the server broke.</p>' }, again);
    }
  };
  const begin = (around) => {
    for (const place of around.querySelectorAll("[data-fill]")) fill(place, { address: place.dataset.fill }, place.dataset.title);
  };
  document.addEventListener("DOMContentLoaded", () => begin(document));
  // Another script has put markup into a part, or another address at a place.
  document.addEventListener("begin", (event) => begin(event.target));
  document.addEventListener("fill", ({ target }) => fill(target, { address: target.dataset.fill }, target.dataset.title));
  const send = (form, pressed) => {
    const words = new URLSearchParams(new FormData(form, pressed));
    const address = pressed?.getAttribute("formaction") || form.getAttribute("action");
    const ask = form.method === "post" ? { address, method: "POST", body: words } : { address: `${address}?${words}` };
    fill(document.getElementById(form.dataset.fills), ask, form.dataset.title);
  };
  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form[data-fills]");
    if (!form) return;
    event.preventDefault();
    if (!form.closest(".stale")) send(form, event.submitter); // that place is at work already
  });
  document.addEventListener("change", (event) => {
    if (event.target.matches("[data-sends-form]")) event.target.form.requestSubmit(); // a choice that is done at once
  });
  document.addEventListener("click", (event) => {
    const shows = event.target.closest("[data-shows]"); // such as the frame in which a link opens
    if (shows) document.getElementById(shows.dataset.shows).hidden = false;
  });
})();
