// The button that turns light into dark and back, on every page that has one.
import { say } from "./words.js";

export function wireLight() {
  const button = document.querySelector("[data-light-switch]");
  const label = () => (button.textContent = say(`to_${benchtallyLight.other()}`));
  button.onclick = () => benchtallyLight.turn();
  addEventListener("benchtally.light", label);
  label();
}
