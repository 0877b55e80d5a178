"use strict";
// A place [data-fill] fills itself from its address: progress, a line of JSON each, then the markup. A form
// [data-fills] fills the place of that id when it is sent, by its own method. Where markup has come into a place, the
// place gets the event "filled", for scripts that have something to do in it, and a form [data-now] in it is sent at
// once, to join work that is under way; so is one that comes with the page. An answer stays, marked, until the next one
// is there, also after an error or a stop; what a page puts into a place as `.empty` is no answer and waits hidden.
(() => {
  const TOLD_MS = 350; // work that ends sooner shows no progress
  const NOT_GIVEN = {
    401: "You are signed out.", 403: "You are looking only: nothing was changed.", 503: "Too much other work is under way.",
  };
  const STOPPED = "<p>Stopped. What was worked out is saved; started again, it goes on from there.</p>";
  const LEFT = "<p>Stopped.</p>"; // who only looks saves nothing
  let sent = new WeakMap(); // what each form has asked for that is not answered yet
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
    const empty = place.querySelector(":scope > .empty");
    if (!place.answered && !empty) return null;
    if (place.former) return place.former;
    const box = document.createElement("div");
    box.className = "stale former";
    box.hidden = Boolean(empty); // that is no answer
    if (empty) empty.hidden = false;
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
    const before = place.former;
    if (told.go !== undefined) {
      go(told.go);
      return;
    }
    place.former = null;
    place.answered = told.markup !== undefined || Boolean(before);
    if (told.markup !== undefined) {
      const made = document.createElement("template");
      made.innerHTML = told.markup;
      put(place, ...made.content.childNodes);
      begin(place);
      place.dispatchEvent(new CustomEvent("filled", { bubbles: true }));
      join(place);
      return;
    }
    const marked = before && !before.hidden && told.wrong === undefined; // a press that was wrong asks nothing again
    if (marked) place.former = before;
    const kept = marked ? [before] : before ? [...before.childNodes] : [];
    if (told.stopped) put(place, word("notice", "status", STOPPED), button("Go on", again), ...kept);
    else if (told.left) put(place, word("notice", "status", LEFT), button("Start again", again), ...kept);
    else if (told.wrong !== undefined) {
      put(place, word("error", "alert", told.wrong), ...kept);
      if (told.at) (again.form || document).querySelector(told.at)?.focus();
    }
    else put(place, word("error", "alert", told.error), button("Try again", again), ...kept);
  };
  // `ask` is an address and what else the browser's own fetch takes; `again` asks once more, with what is typed by then.
  const fill = async (place, ask, title, again = () => fill(place, ask, title)) => {
    if (place.leave) place.leave.abort("another"); // what was asked last is what is shown
    const leave = new AbortController();
    place.leave = leave;
    const box = panel(title, () => {
      if (box.dataset.job) fetch(`/data/stop?job=${box.dataset.job}`, { method: "POST" });
      else leave.abort("stop");
    });
    place.former = aside(place);
    put(place, box, place.former);
    try {
      const { address, ...how } = ask;
      const told = await read(await fetch(address, { ...how, signal: leave.signal }), box);
      if (place.leave === leave) show(place, told, again);
      return told.go === undefined;
    } catch {
      if (place.leave !== leave) return true;
      show(place, leave.signal.aborted ? { left: true } : { error: '<p class="what">The connection to the server broke.</p>' }, again);
      return true;
    }
  };
  const begin = (around) => {
    for (const place of around.querySelectorAll("[data-fill]")) fill(place, { address: place.dataset.fill }, place.dataset.title);
  };
  const join = (around) => around.querySelector("form[data-now]")?.requestSubmit();
  document.addEventListener("DOMContentLoaded", () => { begin(document); join(document); });
  window.addEventListener("pageshow", () => { sent = new WeakMap(); }); // such as a page that one comes back to
  // Another script has put markup into a part, or another address at a place.
  document.addEventListener("begin", (event) => begin(event.target));
  document.addEventListener("fill", ({ target }) => fill(target, { address: target.dataset.fill }, target.dataset.title));
  const send = async (form, pressed) => {
    const words = new URLSearchParams(new FormData(form, pressed));
    const address = pressed?.getAttribute("formaction") || form.getAttribute("action");
    const posts = form.method === "post";
    const asked = `${address}?${words}`;
    if (posts && sent.get(form) === asked) return; // pressed twice
    if (posts) sent.set(form, asked);
    const ask = posts ? { address, method: "POST", body: words } : { address: asked };
    const place = document.getElementById(form.dataset.fills);
    const again = Object.assign(() => send(form, pressed), { form });
    const ended = await fill(place, ask, form.dataset.title, again);
    if (ended && sent.get(form) === asked) sent.delete(form);
  };
  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form[data-fills]");
    if (!form) return;
    event.preventDefault();
    const place = form.closest(".stale")?.parentNode;
    if (!place?.querySelector(":scope > .working")) send(form, event.submitter); // else it is at work already
  });
  document.addEventListener("change", (event) => {
    if (event.target.matches("[data-sends-form]")) event.target.form.requestSubmit(); // a choice that is done at once
  });
  document.addEventListener("click", (event) => {
    const shows = event.target.closest("[data-shows]"); // such as the frame in which a link opens
    if (shows) document.getElementById(shows.dataset.shows).hidden = false;
  });
})();
