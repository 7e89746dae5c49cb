// A turn as the part shows it, seen from its tip: level over angle. Only where the angle is known.
import { digitsOf, roundStep } from "./pen.js";

const LEAST_SPAN = 0.002; // a good part looks round, not like its noise
const MOVING_SHARE = 4; // where fewer than one in so many moves, the part is as good as round and was turned all the same

// landmarks: [t, value, turns or null, counts]; unit: of the readings.
export function drawPolar(pen, readings, { landmarks, unit, shown }) {
  const known = landmarks.filter(([, , turns]) => turns !== null);
  const seen = turnedReadings(readings, known);
  if (seen.length < 2) return;
  // A grain of dust that the capture does not believe shall not make the part look round.
  const told = known.flatMap(([, value]) => (value === null ? [] : [value]));
  const levels = told.length > 1 ? told : seen.map((each) => each.value);
  const [low, high] = [Math.min(...levels), Math.max(...levels)];
  const [cx, cy] = [pen.width / 2, pen.height / 2];
  const most = Math.min(cx, cy) - 8;
  const span = Math.max(high - low, LEAST_SPAN);
  const middle = (high + low) / 2;
  const radius = (value) => most * (0.6 + 0.52 * Math.max(-0.7, Math.min(0.7, (value - middle) / span)));
  const point = (turns, value) => {
    const angle = 2 * Math.PI * (turns - 0.25);
    return [cx + radius(value) * Math.cos(angle), cy + radius(value) * Math.sin(angle)];
  };
  const step = roundStep(span / 2);
  for (let ring = -1; ring <= 1; ring += 1) pen.ring(cx, cy, radius(middle + ring * step), ring ? "hair" : "line", ring ? 1.5 : 2);
  pen.disc(cx, cy, most * 0.16, "steel");
  pen.line([[cx - most * 0.16, cy], [cx + most * 0.16, cy]], "line", 1);
  pen.line([[cx, cy - most * 0.16], [cx, cy + most * 0.16]], "line", 1);
  drawSeen(pen, cx, cy, most, seen.at(-1).turns - seen[0].turns, seen[0].turns);
  pen.line(seen.map((each) => point(each.turns, each.value)), "blue", 3);
  for (const [, value, turns] of known) if (value !== null) pen.disc(...point(turns, value), 6, "mark");
  pen.text(`◯ ${shown(step, digitsOf(step))} ${unit}`, 8, pen.height - 10);
}

// How much of the turn has been seen: the rim fills, and fills again.
function drawSeen(pen, cx, cy, most, turns, start) {
  const from = 2 * Math.PI * (start - 0.25);
  pen.ring(cx, cy, most, "hair", 6);
  pen.ring(cx, cy, most, "soft", 6, from, from + 2 * Math.PI * Math.min(1, turns));
}

function turnedReadings(readings, known) {
  const found = [];
  let at = 0;
  for (const { t, value, rests } of readings) {
    while (at + 2 < known.length && t > known[at + 1][0]) at += 1;
    const [before, after] = [known[at], known[at + 1]];
    if (!after || t < before[0] || t > after[0]) continue;
    found.push({ value, rests, turns: before[2] + ((after[2] - before[2]) * (t - before[0])) / (after[0] - before[0]) });
  }
  const moving = found.filter((each) => !each.rests);
  return moving.length * MOVING_SHARE < found.length ? found : moving;
}
