"use strict";
// What every page does without asking the server: its menu, its light, its units, its campaign; and it asks
// before a page is left on which something typed is not saved yet.
(() => {
  const keep = (name, value) => {
    document.cookie = `${name}=${value}; path=/; max-age=31536000; samesite=strict`;
  };
  document.addEventListener("click", (event) => {
    const button = event.target.closest(".menu-button");
    if (!button) return;
    const open = button.getAttribute("aria-expanded") !== "true";
    button.setAttribute("aria-expanded", String(open));
    document.getElementById("menu").classList.toggle("open", open);
  });
  document.addEventListener("keydown", (event) => {
    const button = document.querySelector(".menu-button[aria-expanded=true]");
    if (event.key === "Escape" && button) {
      button.click();
      button.focus();
    }
  });
  document.addEventListener("change", (event) => {
    const at = event.target;
    if (at.matches("[data-look]")) {
      keep("strikeproof_look", at.value);
      if (at.value === "auto") delete document.documentElement.dataset.look;
      else document.documentElement.dataset.look = at.value;
      document.dispatchEvent(new CustomEvent("look"));
    } else if (at.matches("[data-unit]")) {
      const places = [...document.querySelectorAll("[data-unit]")].map((each) => each.value);
      keep("strikeproof_units", places.join("."));
      location.reload();
    } else if (at.matches("[data-language]")) {
      keep("strikeproof_language", at.value);
      location.reload();
    } else if (at.matches("[data-comma]")) {
      keep("strikeproof_comma", at.checked ? "yes" : "no");
      location.reload();
    } else if (at.matches("[data-campaign]")) {
      const address = new URL(location.href);
      for (const key of [...address.searchParams.keys()]) address.searchParams.delete(key);
      address.searchParams.set("campaign", at.value);
      if (address.pathname === "/run") address.pathname = "/runs";
      location.assign(address);
    }
  });

  // Inside [data-guard] what is typed is only saved by the button [data-saves]; what is typed after it was
  // pressed, and before the server has answered, is not saved by it. A field [data-guard=left] is saved as it
  // is left.
  const changed = (event) => {
    const guard = event.target.closest("[data-guard]");
    if (!guard) return;
    if (event.type === "change" && guard.dataset.guard === "left") delete guard.dataset.unsaved;
    else guard.dataset.unsaved = Number(guard.dataset.unsaved || 0) + 1;
  };
  document.addEventListener("input", changed);
  document.addEventListener("change", changed);
  document.addEventListener("focusout", (event) => {
    if (event.target.dataset.guard === "left") delete event.target.dataset.unsaved;
  });
  document.addEventListener("click", (event) => {
    const at = event.target;
    if (at.closest("[data-changes]")) changed(event);
    const guard = at.closest("[data-saves]") && at.closest("[data-guard]");
    if (guard) guard.saving = guard.dataset.unsaved;
  });
  window.strikeproofSaved = () => {
    for (const guard of document.querySelectorAll("[data-unsaved]"))
      if (guard.saving === guard.dataset.unsaved) delete guard.dataset.unsaved;
  };
  window.addEventListener("beforeunload", (event) => {
    if (document.querySelector("[data-unsaved]")) event.preventDefault();
  });
})();
