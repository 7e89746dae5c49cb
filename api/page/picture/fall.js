// A loss of vacuum: the curve as it falls, and how long it has been watched.
import { roundStep } from "./pen.js";

const LEAST_S = 12;
const FOOT = 24;
const LEAST_SHARE = 0.05;

// landmarks: the start of the loss.
export function drawFall(pen, readings, { landmarks, unit }) {
  const [[start, most]] = landmarks;
  const shown = readings.filter((each) => each.t >= start);
  if (shown.length < 2) return;
  const long = Math.max(LEAST_S, (shown.at(-1).t - start) * 1.08);
  const x = (t) => 6 + ((pen.width - 12) * (t - start)) / long;
  // Near its top, so that a small loss is seen to fall, too; never so near that noise looks like one.
  const lost = most - Math.min(...shown.map((each) => each.value));
  const foot = most - Math.min(most, Math.max(LEAST_SHARE * most, 1.3 * lost));
  const y = (value) => pen.height - FOOT - ((pen.height - FOOT - 24) * (value - foot)) / (most - foot);
  const step = roundStep(long / 4);
  for (let s = step; s < long; s += step) {
    pen.line([[x(start + s), 0], [x(start + s), pen.height - FOOT]], "hair", 1);
    pen.text(`${s} s`, x(start + s), pen.height - 7, { align: "center" });
  }
  pen.line([[0, y(foot)], [pen.width, y(foot)]], "line", 2);
  pen.line([[0, y(most)], [pen.width, y(most)]], "line", 1, [6, 6]);
  pen.line(shown.map((each) => [x(each.t), y(each.value)]), "blue", 3);
  pen.disc(x(shown.at(-1).t), y(shown.at(-1).value), 7, "blue");
  pen.text(`${most.toFixed(1)} ${unit}`, 8, 16);
  pen.text(foot.toFixed(1), 8, pen.height - FOOT - 6);
}
