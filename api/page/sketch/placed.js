// Which way round a place lies: the head from above, a bore in it, and the direction through it.
import { svg } from "../marks.js";

const WAYS = { along: "M-19 0H19", across: "M0 -19V19" };

export function placed(place) {
  const way = WAYS[place?.direction];
  if (!way) return [];
  return [svg("g", { transform: "translate(274 28)" },
    svg("path", { class: "sk-cut", d: "M-40 -22h80v44h-80z" }),
    svg("circle", { class: "sk-hole", cx: 0, cy: 0, r: 14 }),
    svg("path", { class: "sk-way", d: way }))];
}
