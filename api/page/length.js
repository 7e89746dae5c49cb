// Lengths as this browser shows them. Kept and judged is in millimetres; in inches a value keeps its
// fineness, an uncertainty is rounded up and a limit inwards, so that nothing looks kinder than it is.
import { say } from "./words.js";

const CHOSEN = "benchtally.length";
const MM_PER_INCH = 25.4;
const MORE = 1; // digits behind the point for a value in inches
const LIMIT_MORE = 3; // 0.03 mm is 0.00118 in, and 0.001 in would be a sixth less
const NEAR = Math.round;
const UP = (x) => Math.ceil(x - 1e-9);
const DOWN = (x) => Math.floor(x + 1e-9);

function chosen() {
  try {
    return localStorage.getItem(CHOSEN);
  } catch {
    return null;
  }
}

const inches = chosen() === "in";
export { inches as inInches };

// Of a unit that a value is in: the one it is shown in.
export const shownUnit = (unit) => (inches && unit === "mm" ? "in" : unit);

// A number as text, with the decimals it came with.
export function shownNumber(text, unit) {
  return converted(text, unit, NEAR, MORE);
}

function converted(text, unit, round, more) {
  if (!inches || unit !== "mm" || text === null || !Number.isFinite(Number(text))) return text;
  const digits = (`${text}`.split(".")[1]?.length ?? 0) + more;
  return (round((Number(text) / MM_PER_INCH) * 10 ** digits) / 10 ** digits).toFixed(digits);
}

// A measurement, or the check of one, as it is shown.
export function shownLength(m) {
  const { unit, limits } = m;
  return {
    ...m,
    unit: shownUnit(unit),
    value: converted(m.value, unit, NEAR, MORE),
    uncertainty: converted(m.uncertainty, unit, UP, MORE),
    limits: limits && { lower: converted(limits.lower, unit, UP, LIMIT_MORE), upper: converted(limits.upper, unit, DOWN, LIMIT_MORE) },
  };
}

// The button that changes it. Everything on the page is in one unit, so the page is made anew.
export function wireLength() {
  const button = document.querySelector("[data-length-switch]");
  const other = inches ? "mm" : "in";
  button.textContent = say(`to_${other}`);
  button.onclick = () => {
    localStorage.setItem(CHOSEN, other);
    location.reload();
  };
}
