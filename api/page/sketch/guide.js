// Where the gauge goes in a guide.
import { casting, cut, gauge, group, guide, line, motion, plunger, touch, valve } from "./pieces.js";
import { svg } from "../marks.js";

// A bore gauge: a rod with two contacts, at depth y in a bore round x.
function boreGauge(x, y, turn) {
  return group(x, y, turn,
    gauge("M-4 -4h8v-96h-8z"), gauge("M-20 -128h40v28h-40z"), line("M20 -116q14 0 14 -14"),
    gauge("M-17 -4h34v8h-34z"), touch(-18, 0), touch(18, 0));
}

export const GUIDE_SKETCHES = {
  "guide.diameter": () => [
    guide(150, 96, 190, 36, 26), boreGauge(150, 142, 7),
    motion("M128 22C146 14 172 14 190 24", [192, 25, 28], [126, 23, 152]),
  ],
  "guide.protrusion": () => [
    cut("M40 150H124V190H40Z"), cut("M176 150H260V190H176Z"), guide(150, 76, 190, 24, 14),
    gauge("M84 60h120v14h-120z"), plunger(100, 150, 0, 70), touch(150, 76),
  ],
  "guide.rocking": () => [
    casting(140, 112), group(140, 254, -90, valve(0, 0)), plunger(181, 58, 90, 22),
    motion("M84 40H96M84 40H118", [120, 40, 0], [82, 40, 180]),
  ],
  "guide.clearance_max": () => [guide(150, 30, 176, 52, 30), stemIn(138), gap(124, 162)],
  "guide.clearance_min": () => [guide(150, 30, 176, 40, 36), stemIn(136), gap(130, 164)],
  "guide.clearance_mean": () => [guide(150, 30, 176, 46, 33), stemIn(150), gap(127, 136), gap(164, 173)],
};

const stemIn = (x) => svg("path", { class: "sk-part", d: `M${x} 14h28v178h-28z` });
const gap = (from, to) => svg("path", { class: "sk-way", d: `M${from} 104H${to}` });
