"use strict";
// Questions in a dialog of the browser's own. A form [data-asks] is sent only after a yes; Escape means no.
// What data-asks holds is JSON: the title, the sentences, and the words for yes and no.
(() => {
  const dialog = (title, says, yes, no) => new Promise((done) => {
    const box = document.createElement("dialog");
    box.className = "ask";
    box.setAttribute("aria-label", title);
    const part = (name, text) => {
      const made = document.createElement(name);
      made.textContent = text;
      return made;
    };
    const bar = part("div", "");
    bar.className = "bar";
    const button = (text, value, className) => {
      const made = part("button", text);
      Object.assign(made, { type: "button", className });
      made.addEventListener("click", () => box.close(value));
      bar.append(made);
    };
    button(no, "", "button");
    if (yes) button(yes, "yes", "button primary");
    box.append(part("h2", title), ...says.map((text) => part("p", text)), bar);
    box.addEventListener("close", () => {
      box.remove();
      done(box.returnValue === "yes");
    });
    document.body.append(box);
    box.showModal();
  });
  const ask = (title, says, yes = "Go on", no = "Leave it as it was") => dialog(title, says, yes, no);
  const say = (title, says) => dialog(title, says, "", "Close");
  window.strikeproofAsk = { ask, say };
  document.addEventListener("submit", async (event) => {
    const form = event.target.closest("form[data-asks]");
    if (!form || form.agreed) return;
    event.preventDefault();
    event.stopPropagation();
    const { title, says, yes, no } = JSON.parse(form.dataset.asks);
    if (!await ask(title, says, yes, no)) return;
    form.agreed = true;
    form.requestSubmit(event.submitter);
    form.agreed = false;
  }, true);
})();
