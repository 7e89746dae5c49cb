// The limit drawn on the part itself: where its edge stands, and where it may stand.
import { svg } from "../marks.js";
import { say } from "../words.js";
import { SHEET } from "../sketch/pieces.js";
import { SIZES } from "./sizes.js";
import { TURNING } from "./turning.js";

const DRAWN = { ...SIZES, ...TURNING };

export const drawnOn = () => Object.keys(DRAWN);

// limits: {lower, upper} as numbers or null; value null while nothing is known of the part; partner:
// the size of the other part of its pair, or null; out: whether it is proven out. Gives null where there is nothing to draw: no limit, or nothing that is
// measured.
export function onPart(characteristic, { value, limits, partner, out, label }) {
  const draw = DRAWN[characteristic];
  if (!draw || !limits || (limits.lower === null && limits.upper === null)) return null;
  return svg(
    "svg",
    { viewBox: `0 0 ${SHEET.width} ${SHEET.height}`, role: "img", "aria-label": label, class: `sketch on-part${out ? " beyond" : ""}` },
    ...draw({ value, limits, partner }), ...key(),
  );
}

// What the broken line is, in the corner that no drawing needs.
function key() {
  return [svg("path", { class: "pt-key", d: "M222 14H250" }), svg("text", { class: "pt-word", x: 256, y: 19 }, say("limit"))];
}
