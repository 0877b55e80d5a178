"use strict";
// What every page does without asking the server: its menu, its light, its units, its campaign.
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
    } else if (at.matches("[data-campaign]")) {
      const address = new URL(location.href);
      for (const key of [...address.searchParams.keys()]) address.searchParams.delete(key);
      address.searchParams.set("campaign", at.value);
      if (address.pathname === "/run") address.pathname = "/runs";
      location.assign(address);
    }
  });
})();
