// The number pad: what is typed with fingers or keys, as it is typed.
import { element } from "./marks.js";
import { say } from "./words.js";

const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"];
const TYPED_MAX = 12;

// A comma is taken as it was typed: the bench asks for a point, and nothing becomes a thousand.
export function typed(digits, key) {
  if (key === "⌫" || key === "Backspace") return digits.slice(0, -1);
  if (key === "-") return digits.startsWith("-") ? digits.slice(1) : `-${digits}`;
  if (!/^[0-9.,]$/.test(key) || digits.length >= TYPED_MAX) return digits;
  return digits + key;
}

export function isPadKey(key) {
  return /^[0-9.,-]$/.test(key) || key === "Backspace";
}

export function drawPad(into, onKey) {
  into.replaceChildren(...KEYS.map((key) => {
    const made = element("button", "", key);
    made.type = "button";
    if (key === "⌫") made.setAttribute("aria-label", say("erase"));
    holdFocus(made, () => onKey(key));
    return made;
  }));
}

// Enter after a touch of a key means what stands there, not that key again.
export function holdFocus(button, act) {
  button.onmousedown = (event) => event.preventDefault();
  button.onclick = act;
}
