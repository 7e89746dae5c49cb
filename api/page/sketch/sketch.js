// One sketch a characteristic: the part as it lies, the gauge on it, and a ring where it touches.
import { svg } from "../marks.js";
import { ASSEMBLY_SKETCHES } from "./assembly.js";
import { GUIDE_SKETCHES } from "./guide.js";
import { HEAD_SKETCHES } from "./head.js";
import { SHEET } from "./pieces.js";
import { placed } from "./placed.js";
import { SEAT_SKETCHES } from "./seat.js";
import { SPRING_SKETCHES } from "./spring.js";
import { VALVE_SKETCHES } from "./valve.js";

const SKETCHES = {
  ...HEAD_SKETCHES, ...GUIDE_SKETCHES, ...VALVE_SKETCHES, ...SEAT_SKETCHES, ...SPRING_SKETCHES, ...ASSEMBLY_SKETCHES,
};

export const sketched = () => Object.keys(SKETCHES);

// label: what the sketch shows, for whoever cannot see it.
export function sketch(characteristic, place, label) {
  const draw = SKETCHES[characteristic];
  if (!draw) return null;
  return svg(
    "svg", { viewBox: `0 0 ${SHEET.width} ${SHEET.height}`, role: "img", "aria-label": label, class: "sketch" },
    ...draw(place), ...placed(place),
  );
}
