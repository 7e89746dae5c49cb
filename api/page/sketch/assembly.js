// What is looked at when the valve goes in for good.
import { casting, cut, eye, gauge, group, guide, line, motion, part, sight, spring, valve } from "./pieces.js";

export const ASSEMBLY_SKETCHES = {
  "spring.washer": () => [
    cut("M30 150H290V190H30Z"), part("M104 136h112v7h-112z"), part("M110 143h100v7h-100z"), spring(128, 44, 64, 92),
    eye(46, 60), sight(66, 74, 106, 140),
  ],
  "seal.fitted": () => [
    cut("M30 160H290V192H30Z"), guide(160, 96, 180, 16, 14), group(160, 8, 90, valve(0, 0)),
    part("M132 96h18l4 -24h12l4 24h18v16h-56z"), eye(46, 50), sight(66, 62, 140, 88),
  ],
  "stem.oiled": () => [
    casting(150, 104), group(150, 232, -90, valve(0, 0)),
    ...[124, 176].map((x) => group(x, 150, 0, part("M0 -14Q9 2 0 6Q-9 2 0 -14Z", { class: "sk-fluid" }))),
    eye(42, 42), sight(62, 52, 118, 88),
  ],
  "cotter.new": () => [
    half(100, 110, 1), half(200, 110, -1), eye(160, 34), sight(146, 46, 112, 84), sight(174, 46, 208, 84),
  ],
  "cotter.seated": () => [
    group(160, 26, 90, valve(0, 0)), spring(116, 110, 88, 84), part("M100 92h120v14h-120z"),
    part("M140 84l10 -26h6v40h-12z"), part("M180 84l-10 -26h-6v40h12z"), eye(46, 40), sight(68, 50, 146, 72), gauge("M196 12h46v20h-46z"), line("M242 22H300", { "stroke-width": 6 }),
    motion("M180 6V14", [180, 20, 90]),
  ],
};

// One half of a pair of cotters, its bead towards the stem.
function half(x, y, side) {
  return part(`M${x} ${y - 40}L${x + side * 26} ${y - 40}V${y - 16}h${side * 6}v10h${-side * 6}V${y + 50}H${x + side * 10}Z`);
}
