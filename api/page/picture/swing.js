// A rock as the hand makes it: swing over swing through the least reading, there and back.
import { firstFrom } from "./readings.js";

const SHOWN = 8;
const LEAST_MM = 0.01;

// landmarks: [t, least, null, whether it agrees with the others].
export function drawSwings(pen, readings, { landmarks, decimals, shown }) {
  const swings = swingsOf(readings, landmarks.slice(-SHOWN));
  if (!swings.length) return;
  const least = Math.min(...swings.map((each) => each.least));
  // Of the two sides the lower one: the other may be the way in or out.
  const tops = swings.map(({ points }) => Math.min(points[0].value, points.at(-1).value)).toSorted((a, b) => a - b);
  const high = Math.max(tops[tops.length >> 1], least + LEAST_MM);
  const half = swings.map((each) => each.half).toSorted((a, b) => a - b)[swings.length >> 1];
  const [cx, wide] = [pen.width / 2, pen.width / 2 - 30];
  const y = (value) => pen.height - 30 - (pen.height - 60) * Math.min(1.1, (value - least) / (high - least));
  pen.line([[20, y(least)], [pen.width - 20, y(least)]], "line", 1, [6, 6]);
  for (const { points, bottom, counts, way } of swings) {
    const path = points.map(({ t, value }) => [cx + way * wide * Math.max(-1, Math.min(1, (t - bottom) / half)), y(value)]);
    pen.line(path, counts ? "blue" : "line", counts ? 3 : 2, counts ? [] : [4, 5]);
  }
  for (const { least: value, counts } of swings) pen.disc(cx, y(value), 7, counts ? "mark" : "line", counts);
  pen.text(shown(least, decimals + 1), 8, pen.height - 10);
  pen.text(shown(high, decimals), 8, 20);
}

// Each from the top before its least reading to the top after it; every other one goes back.
function swingsOf(readings, landmarks) {
  const edges = landmarks.map(([t], at) => {
    const next = landmarks[at + 1]?.[0];
    return next === undefined ? null : topBetween(readings, t, next);
  });
  return landmarks.flatMap(([bottom, least, , counts], at) => {
    const reach = edges.find((each) => each !== null && each > bottom) ?? bottom + 1;
    const half = Math.max(0.1, Math.min(reach - bottom, bottom - (edges[at - 1] ?? -Infinity)));
    const from = edges[at - 1] ?? bottom - half;
    const to = edges[at] ?? bottom + half;
    const points = readings.slice(firstFrom(readings, from), firstFrom(readings, to));
    return points.length < 3 ? [] : [{ points, bottom, least, counts, half, way: at % 2 ? -1 : 1 }];
  });
}

function topBetween(readings, from, to) {
  let top = null;
  for (let at = firstFrom(readings, from); at < readings.length && readings[at].t < to; at += 1) {
    if (!top || readings[at].value > top.value) top = readings[at];
  }
  return top?.t ?? null;
}
