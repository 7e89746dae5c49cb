// Where to look at the head itself, and where its gauges go.
import { cut, eye, gauge, leaves, line, motion, part, plate, sight, touch } from "./pieces.js";
import { svg } from "../marks.js";

// The head seen on its combustion face: bores, and two valves in each.
function face() {
  const made = svg("g", {}, svg("path", { class: "sk-part", d: "M24 84h272v92q0 8 -8 8H32q-8 0 -8 -8z" }));
  for (const x of [72, 160, 248]) {
    made.append(
      svg("circle", { class: "sk-hole", cx: x, cy: 134, r: 38 }),
      svg("circle", { class: "sk-part", cx: x, cy: 118, r: 17 }),
      svg("circle", { class: "sk-part", cx: x, cy: 153, r: 14 }),
    );
  }
  return made;
}

export const HEAD_SKETCHES = {
  "head.clean": () => [face(), eye(60, 36), sight(82, 46, 118, 100), motion("M196 60H282", [284, 60, 0], [194, 60, 180])],
  "head.cracks": () => [face(), eye(60, 36), line("M160 135L168 139L174 133L184 141"), sight(84, 46, 166, 136)],
  "head.flatness": () => [
    cut("M24 110Q160 130 296 110V180H24Z"), gauge("M16 84H304V108H16Z"), leaves(176, 113, 12),
    motion("M60 66H260", [262, 66, 0], [58, 66, 180]),
  ],
  "head.height": () => [
    plate(184), cut("M40 96H220V184H40Z"), part("M40 90h180v6H40z"),
    gauge("M252 16h12v168h-12z"), gauge("M238 176h40v8h-40z"), gauge("M150 84h108v6h-108z"), gauge("M240 76h36v22h-36z"), touch(160, 90), touch(130, 184),
  ],
};
