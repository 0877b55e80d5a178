// The key that presses the large button: space and Enter, another one such as a foot switch's, or none.
const KEPT = "strikeproof.record.key";
const BOUNCE_MS = 500; // a foot switch that rattles must not arm and disarm
const SPACE = [" ", "Enter"];

const say = (text) => text; // marks a text for the catalogues

export const USUAL = "usual";
export const NONE = "none";

export const keptKey = () => localStorage.getItem(KEPT) || USUAL;

export const keepKey = (key) => localStorage.setItem(KEPT, key);

export const nameKey = (key) => ({ usual: say("Space or Enter"), none: say("no key"), " ": say("Space") })[key] || key;

export function listen(component) {
  let pressedAt = -Infinity;
  const heard = (event) => {
    if (component.learning) {
      if (["Shift", "Control", "Alt", "Meta"].includes(event.key)) return;
      event.preventDefault();
      component.learn(event.key === "Escape" ? null : event.key);
      return;
    }
    const key = component.key;
    const wanted = key === USUAL ? SPACE.includes(event.key) : event.key === key;
    if (!wanted || key === NONE || event.ctrlKey || event.altKey || event.metaKey) return;
    const at = event.target;
    if (at.matches("input, select, textarea") || document.querySelector("dialog[open]")) return;
    const own = at.closest("button, a, summary, [tabindex='0']");
    if (key === USUAL && own && !own.matches(".press")) return; // that is what the key presses there
    event.preventDefault();
    if (event.repeat || event.timeStamp - pressedAt < BOUNCE_MS) return;
    pressedAt = event.timeStamp;
    component.pressMain();
  };
  // A button pressed by finger or mouse gives the key back, so that the next space arms and does not press
  // that button again; who tabs keeps the focus.
  const freed = (event) => {
    const button = event.target.closest(".recorder button");
    if (event.detail > 0 && button) button.blur();
  };
  document.addEventListener("keydown", heard);
  document.addEventListener("click", freed);
  return () => {
    document.removeEventListener("keydown", heard);
    document.removeEventListener("click", freed);
  };
}
