// A loss of vacuum: the curve as it falls, and how long it has been watched.
import { roundStep } from "./pen.js";

const LEAST_S = 12;
const FOOT = 24;

// landmarks: the start of the loss.
export function drawFall(pen, readings, { landmarks, unit }) {
  const [[start, most]] = landmarks;
  const shown = readings.filter((each) => each.t >= start);
  if (shown.length < 2) return;
  const long = Math.max(LEAST_S, (shown.at(-1).t - start) * 1.08);
  const x = (t) => 6 + ((pen.width - 12) * (t - start)) / long;
  const y = (value) => pen.height - FOOT - (pen.height - FOOT - 24) * Math.max(0, value / most);
  const step = roundStep(long / 4);
  for (let s = step; s < long; s += step) {
    pen.line([[x(start + s), 0], [x(start + s), pen.height - FOOT]], "hair", 1);
    pen.text(`${s} s`, x(start + s), pen.height - 7, { align: "center" });
  }
  pen.line([[0, y(0)], [pen.width, y(0)]], "line", 2);
  pen.line([[0, y(most)], [pen.width, y(most)]], "line", 1, [6, 6]);
  pen.line(shown.map((each) => [x(each.t), y(each.value)]), "blue", 3);
  pen.disc(x(shown.at(-1).t), y(shown.at(-1).value), 7, "blue");
  pen.text(`${most.toFixed(0)} ${unit}`, 8, 16);
}
