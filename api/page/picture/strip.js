// A trace as it came: level over the time in which something moved. No angle is claimed.
import { firstFrom } from "./readings.js";

const [SHOWN_S_LEAST, SHOWN_S] = [4, 12];
const RANGE_MIN = 0.01; // a still gauge shall look still, not like noise drawn large
const EDGE = 26;

export function drawStrip(pen, all, { landmarks = [], decimals, shown: told, faint = false, hold = null }) {
  const moving = all.filter((each) => !each.rests);
  if (moving.length < 2) {
    if (all.length) pen.disc(pen.width - EDGE, pen.height / 2, 7, faint ? "line" : "blue");
    return;
  }
  const end = moving.at(-1).moved;
  const shown = moving.filter((each) => end - each.moved <= SHOWN_S);
  const marks = landmarks.filter(([t, value]) => value !== null && t >= shown[0].t);
  // The way onto the part is no part of the picture once something of the part is known.
  const values = marks.length > 2 ? marks.map(([, value]) => value) : shown.map((each) => each.value);
  let [low, high] = [Math.min(...values), Math.max(...values)];
  const spare = Math.max(RANGE_MIN - (high - low), (high - low) * 0.3) / 2;
  [low, high] = [low - spare, high + spare];
  const long = Math.max(SHOWN_S_LEAST, end - shown[0].moved);
  const x = (moved) => pen.width - EDGE - ((pen.width - EDGE) * (end - moved)) / long;
  const y = (value) => pen.height - 8 - ((pen.height - 16) * Math.max(-0.1, Math.min(1.1, (value - low) / (high - low))));
  if (marks.length > 1) {
    for (const edge of [Math.min, Math.max]) {
      const level = y(edge(...marks.map(([, value]) => value)));
      pen.line([[0, level], [pen.width, level]], "line", 1, [6, 6]);
    }
  }
  pen.line(shown.map((each) => [x(each.moved), y(each.value)]), faint ? "line" : "blue", 3);
  for (const [t, value] of marks) {
    const at = all[Math.min(firstFrom(all, t), all.length - 1)];
    pen.disc(x(at.moved), y(value), 6, "mark");
  }
  if (!faint) pen.disc(x(end), y(shown.at(-1).value), 7, "blue");
  if (hold !== null) drawHold(pen, y(shown.at(-1).value), hold);
  pen.text(told(high, decimals), 6, 16);
  pen.text(told(low, decimals), 6, pen.height - 8);
}

// Two faces that close on the reading while it is held still.
function drawHold(pen, y, share) {
  const gap = 9 + 50 * (1 - share);
  for (const side of [-1, 1]) {
    pen.line([[pen.width - EDGE - 20, y + side * gap], [pen.width - 2, y + side * gap]], "blue", 5);
  }
}
