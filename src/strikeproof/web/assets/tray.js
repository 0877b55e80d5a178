"use strict";
// The tray of long work: on every page, asked for once it comes, every second while something goes on, and when a form has
// started something. What the page itself shows with its progress is not said twice.
(() => {
  const OFTEN_MS = 1000, RARELY_MS = 30000, LONG_S = 2;
  const tray = document.getElementById("tray");
  if (!tray) return;
  let soon = 0;
  const clock = (seconds) => {
    const whole = Math.round(seconds);
    return whole < 60 ? `${whole} s` : `${Math.floor(whole / 60)} min ${String(whole % 60).padStart(2, "0")} s`;
  };
  const here = `${location.pathname}${location.search}`;
  const shownHere = (each) => each.page === here && (document.querySelector(".working") || each.state === "ready");
  const says = (each) => {
    if (each.state === "ready") return `ready after ${clock(each.elapsed_s)}`;
    if (each.state === "failed") return each.error || "it failed";
    if (each.state === "waits") return "waits for its turn";
    const far = each.total ? `${each.done} of ${each.total} ${each.name}`.trim() : "";
    const rest = each.still_s !== null ? `no step for ${clock(each.still_s)}` : "time left not known yet";
    const left = each.left_s === null ? rest : `about ${clock(each.left_s)} left`;
    return [each.state === "stopping" ? "stopping and saving what was found" : far, clock(each.elapsed_s), each.state === "runs" ? left : ""].filter(Boolean).join(", ");
  };
  const make = (name, words, attributes = {}) => {
    const made = document.createElement(name);
    made.textContent = words;
    Object.assign(made, attributes);
    return made;
  };
  const post = async (address) => {
    await fetch(address, { method: "POST" }).catch(() => null);
    look();
  };
  const row = (each) => {
    const made = make("li", "", { className: each.state });
    made.dataset.word = each.word;
    const over = each.state === "ready" || each.state === "failed";
    const open = make("a", each.state === "ready" ? "Show it" : "Go there", { href: each.page, className: "button small" });
    if (over) open.addEventListener("click", () => navigator.sendBeacon(`/data/tray/seen?job=${each.word}`));
    made.append(make("strong", each.title), make("span", says(each)));
    if (each.total && !over) made.append(make("progress", "", { max: 1, value: each.done / each.total, ariaLabel: each.title }));
    made.append(open, over
      ? make("button", "Dismiss", { type: "button", className: "button small", onclick: () => post(`/data/tray/seen?job=${each.word}`) })
      : make("button", each.state === "stopping" ? "End at once" : "Stop", { type: "button", className: "button small", onclick: () => post(`/data/stop?job=${each.word}`) }));
    return made;
  };
  // Words and bars change in their places, so that the keyboard stays where it is.
  const draw = (told) => {
    const list = tray.querySelector("ul");
    const old = new Map([...list.children].map((each) => [each.dataset.word, each]));
    const rows = told.map((each) => {
      const before = old.get(each.word);
      if (!before || before.className !== each.state || Boolean(before.querySelector("progress")) !== Boolean(each.total)) return row(each);
      before.querySelector("span").textContent = says(each);
      if (each.total && before.querySelector("progress")) before.querySelector("progress").value = each.done / each.total;
      return before;
    });
    if (rows.length !== list.children.length || rows.some((each, at) => each !== list.children[at])) list.replaceChildren(...rows);
    tray.hidden = !rows.length;
  };
  const look = async () => {
    clearTimeout(soon);
    let told = [];
    try {
      const answer = await fetch("/data/tray");
      if (answer.ok) told = (await answer.json()).work;
    } catch { /* the server is away: the page says so where it matters */ }
    draw(told.filter((each) => !shownHere(each) && (each.elapsed_s >= LONG_S || each.state === "failed")));
    const busy = told.some((each) => each.state !== "ready" && each.state !== "failed");
    soon = setTimeout(look, document.hidden || !busy ? RARELY_MS : OFTEN_MS);
  };
  document.addEventListener("submit", () => { clearTimeout(soon); soon = setTimeout(look, OFTEN_MS); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) look(); });
  look();
})();
