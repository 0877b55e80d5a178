// What the rig shows now, straight into the calibration sheet: the recorder reads the rig, as on the page Record.
import { Wire } from "./record_wire.js";

const place = document.getElementById("rig-reading");
const form = document.getElementById("readings");
const [begin, take] = place.querySelectorAll("button");
const shown = place.querySelector("output");
const said = { state: "", other: "", reading: null, phase: "", line: null };

const words = () => {
  if (said.other) return `The rig records ${said.other} now.`;
  if (said.state === "starting") return "The recorder is starting.";
  if (said.state !== "on") return "The recorder is off. Start it on the page Record.";
  if (!said.line?.port) return "No rig is connected. Connect it on the page Record, then come back.";
  if (!said.reading) return said.phase === "recording" ? "A run is being recorded." : "Nothing comes from the rig yet.";
  return `${said.reading.typed} ${said.reading.unit}, scatter ${said.reading.scatter}`;
};
const show = () => {
  shown.textContent = words();
  take.disabled = Boolean(said.other) || !said.reading;
};
// Into the row where the keyboard is, else the first without a reading; a new row where all have one.
const row = () => {
  const rows = [...form.querySelectorAll(".entry-row")];
  const empty = (each) => !each.querySelector("[name=reading]").value.trim();
  const here = document.activeElement?.closest?.(".entry-row");
  if (here && empty(here)) return here;
  const free = rows.find((each) => empty(each) && each.querySelector("[name=applied]").value.trim()) || rows.find(empty);
  if (free) return free;
  form.querySelector("[data-add]").click();
  return [...form.querySelectorAll(".entry-row")].at(-1);
};
take.addEventListener("mousedown", (event) => event.preventDefault()); // the keyboard stays in its row
take.addEventListener("click", () => {
  const at = row();
  const field = at.querySelector("[name=reading]");
  field.value = said.reading.typed;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  const applied = at.querySelector("[name=applied]");
  (applied.value.trim() ? at.nextElementSibling?.querySelector("[name=applied]") || applied : applied).focus();
});
begin.addEventListener("click", () => {
  begin.hidden = true;
  take.hidden = shown.hidden = false;
  show();
  new Wire(place.dataset.campaign, {
    words: (came) => { Object.assign(said, came); show(); },
    picture: (_bytes, drawn) => drawn(),
    state: (open) => { if (!open) { said.reading = null; show(); } },
    quiet: () => {},
  });
});
