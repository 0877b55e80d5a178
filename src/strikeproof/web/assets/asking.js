"use strict";
// A form [data-asks] is sent only after a yes, asked in a dialog of the browser's own; Escape means no.
(() => {
  const asked = ({ title, says, yes, no }) =>
    new Promise((answer) => {
      const dialog = document.createElement("dialog");
      const line = (kind, text) => {
        const made = document.createElement(kind);
        made.textContent = text;
        return made;
      };
      const press = (text, value, classes) => {
        const made = line("button", text);
        Object.assign(made, { type: "button", className: classes });
        made.addEventListener("click", () => dialog.close(value));
        return made;
      };
      const bar = document.createElement("div");
      bar.className = "bar";
      bar.append(press(no, "", "button"), press(yes, "yes", "button primary"));
      dialog.className = "ask";
      dialog.setAttribute("aria-label", title);
      dialog.append(line("h2", title), ...says.map((text) => line("p", text)), bar);
      dialog.addEventListener("close", () => {
        dialog.remove();
        answer(dialog.returnValue === "yes");
      });
      document.body.append(dialog);
      dialog.showModal();
    });
  document.addEventListener(
    "submit",
    async (event) => {
      const form = event.target.closest("form[data-asks]");
      if (!form || form.agreed) return;
      event.preventDefault();
      event.stopPropagation();
      form.agreed = await asked(JSON.parse(form.dataset.asks));
      if (form.agreed) form.requestSubmit(event.submitter);
      form.agreed = false;
    },
    true,
  );
})();
