// Where the gauge goes on a valve.
import { casting, cut, eye, gauge, group, jaws, micrometer, motion, plate, plunger, sight, touch, valve, vblock } from "./pieces.js";
import { svg } from "../marks.js";

// A turn about the axis of a part that lies along x.
const turned = (x, y) => motion(`M${x} ${y - 22}C${x + 16} ${y - 18} ${x + 16} ${y + 18} ${x} ${y + 22}`, [x - 1, y + 23, 160]);
const large = (scale, x, y) => group(x, y, 0, svg("g", { transform: `scale(${scale})` }, valve(0, 0)));
const blocks = (y) => [vblock(84, y), vblock(168, y)];

export const VALVE_SKETCHES = {
  "valve.look": () => [
    valve(40, 120), eye(96, 34), sight(108, 50, 46, 112), sight(110, 50, 150, 108), sight(116, 46, 224, 84),
  ],
  "valve.stem_runout": () => [...blocks(128), valve(34, 124), plunger(126, 117), turned(268, 124)],
  "valve.face_runout": () => [
    ...blocks(138), valve(34, 134), cut("M18 112h14v66h-14z"), plunger(221, 99, 45, 22), turned(272, 134),
  ],
  "valve.stem_diameter": () => [
    large(1.4, 20, 122), micrometer(150, 122, 10),
  ],
  "valve.margin": () => [
    large(2.2, -240, 160), jaws(182, 200, 92, 44), motion("M44 126C60 134 60 186 44 194", [42, 195, 160]),
  ],
  "valve.length": () => [
    plate(184), group(150, 184, -90, svg("g", { transform: "scale(.72)" }, valve(0, 0))),
    gauge("M236 20h12v164h-12z"), gauge("M222 176h40v8h-40z"), gauge("M150 34h92v6h-92z"), gauge("M224 28h36v22h-36z"), touch(150, 40),
  ],
  "valve.recess": () => [
    casting(150, 104), group(150, 296, -90, svg("g", {}, valve(0, 0))),
    gauge("M60 74h180v14h-180z"), gauge("M60 74h12v30h-12z"), gauge("M228 74h12v30h-12z"),
    plunger(150, 96, 0, 24), touch(66, 104), touch(234, 104),
  ],
  "valve.free_movement": () => [
    casting(150, 90), group(150, 252, -90, valve(0, 0)), motion("M214 38V96", [214, 98, 90], [214, 36, -90]),
    motion("M120 34C130 22 170 22 180 34", [181, 36, 50]), eye(42, 50), sight(62, 58, 108, 66),
  ],
  "valve.rebound": () => [
    casting(150, 110), group(150, 254, -90, valve(0, 0)),
    motion("M210 26V84Q216 96 222 84V56", [222, 54, -90]), eye(42, 60), sight(64, 66, 124, 100),
  ],
};
