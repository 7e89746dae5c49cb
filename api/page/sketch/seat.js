// Where the gauge goes on a seat, and how its tightness is proved.
import { casting, eye, gauge, group, lever, line, motion, part, sight, touch, valve } from "./pieces.js";
import { svg } from "../marks.js";

const pilot = (x, y) => svg("g", {}, part(`M${x - 8} ${y - 70}h16V${y + 96}h-16z`));

export const SEAT_SKETCHES = {
  "seat.width": () => [
    casting(140, 96), svg("path", { class: "sk-band", d: "M182 106L170 118" }), svg("path", { class: "sk-band", d: "M98 106L110 118" }),
    svg("circle", { class: "sk-glass", cx: 190, cy: 86, r: 34 }), line("M214 110L252 148", { "stroke-width": 7 }), touch(176, 112),
  ],
  "seat.runout": () => [
    casting(150, 96), pilot(150, 96), gauge("M136 36h70v10h-70z"), lever(185, 103, 12),
    motion("M126 20C136 10 166 10 176 20", [178, 22, 50]),
  ],
  "seat.leak": () => [
    casting(150, 60), group(150, 252, -90, valve(0, 0)),
    line("M42 178V164Q42 142 66 142H112", { "stroke-width": 8 }), gauge("M14 160h56v34h-56z"), touch(116, 142),
  ],
  "seat.leak_fluid": () => [
    casting(150, 70), svg("path", { class: "sk-fluid", d: "M103 58H197L192 76H108Z" }), group(150, 272, -90, valve(0, 0)),
    eye(46, 168), sight(72, 160, 116, 118),
  ],
};
