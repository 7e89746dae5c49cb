// Parts that wobble: how far they do, and how far they may.
import { cut, group, part, plate, spring } from "../sketch/pieces.js";
import { svg } from "../marks.js";
import { fromZero } from "./scale.js";

const WIDE = 34; // of the sheet, for the limit
const LEAN = 13; // degrees, for the limit

const circle = (x, y, r, kind) => svg("circle", { class: kind, cx: x, cy: y, r });

// A stem seen from its tip, low and high.
function stem({ value, limits }) {
  const far = fromZero(limits, WIDE);
  const high = value === null ? [] : [circle(160, 116 - far(value), 44, "pt-moved")];
  return [cut("M60 132L160 196L260 132V200H60Z"), circle(160, 116, 44, "sk-part"), ...high,
    ...edges(limits, (each) => circle(160, 116 - far(each), 44, "pt-limit"))];
}

// A head that tilts as the stem turns.
function face({ value, limits }) {
  const far = fromZero(limits, LEAN);
  const rim = (angle) => group(180, 100, angle, svg("path", { class: "pt-limit", d: "M14 -90V90" }));
  const tilted = (angle, kind) => group(180, 100, angle, svg("path", { class: kind, d: "M-64 -8Q-26 -10 -14 -40L0 -80H12V80H0L-14 40Q-26 10 -64 8Z" }));
  return [part("M30 92h96v16H30z"), tilted(value === null ? 0 : far(value), value === null ? "pt-none" : "sk-part"),
    ...edges(limits, (each) => rim(far(each))), ...edges(limits, (each) => rim(-far(each)))];
}

// A seat round a pilot in its guide, seen from the chamber.
function seat({ value, limits }) {
  const far = fromZero(limits, WIDE);
  const ring = (by, kind) => circle(160 + by, 100, 62, kind);
  return [circle(160, 100, 14, "sk-part"), ring(value === null ? 0 : far(value), value === null ? "pt-none" : "pt-ring"),
    ...edges(limits, (each) => ring(far(each), "pt-limit"))];
}

// A valve pushed to and fro in its guide.
function rocking({ value, limits }) {
  const far = fromZero(limits, LEAN);
  const leaning = (angle, kind) => group(160, 170, angle, svg("path", { class: kind, d: "M-7 30V-90Q-10 -120 -50 -132V-142H50V-132Q10 -120 7 -90V30Z" }));
  return [cut("M96 130h48v70H96z"), cut("M176 130h48v70h-48z"), leaning(value === null ? 0 : far(value), value === null ? "pt-none" : "sk-part"),
    ...edges(limits, (each) => leaning(far(each), "pt-limit"))];
}

function square({ value, limits }) {
  const far = fromZero(limits, WIDE);
  return [plate(182), cut("M88 20h14v162H88z"), spring(106, 40, 74, 140, { lean: value === null ? 0 : far(value) }),
    ...edges(limits, (each) => svg("path", { class: "pt-limit", d: `M${104 + far(each)} 24V60M104 182L${104 + far(each)} 60` }))];
}

function bow({ value, limits }) {
  const far = fromZero(limits, WIDE);
  return [plate(164), group(44, 160, -90, spring(0, 0, 60, 220, { coils: 9, bow: value === null ? 0 : far(value) })),
    ...edges(limits, (each) => svg("path", { class: "pt-limit", d: `M40 ${160 - far(each)}H280` }))];
}

export function edges({ lower, upper }, draw) {
  return [lower, upper].filter((each) => each !== null).map(draw);
}

export const TURNING = {
  "valve.stem_runout": stem, "valve.face_runout": face, "seat.runout": seat, "guide.rocking": rocking,
  "spring.squareness": square, "spring.bow": bow,
};

