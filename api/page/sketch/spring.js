// Where the gauge goes on a spring, alone and fitted.
import { casting, cut, gauge, group, jaws, leaves, line, motion, part, plate, spring, touch, valve } from "./pieces.js";

export const SPRING_SKETCHES = {
  "spring.free_length": () => [
    group(86, 150, -90, spring(0, 0, 64, 140)), jaws(84, 228, 140, 62),
  ],
  "spring.squareness": () => [
    plate(180), spring(115, 66, 64, 114, { lean: 16 }), gauge("M96 30h14v150h-14z"), gauge("M96 166h92v14h-92z"),
    leaves(119, 66, -90), motion("M150 40C166 28 186 28 200 40", [202, 42, 48]),
  ],
  "spring.load": () => [
    plate(186), cut("M96 176h128v10h-128z"), spring(128, 92, 64, 84), gauge("M104 78h112v12h-112z"),
    gauge("M150 30h20v48h-20z"), motion("M232 32V72", [232, 76, 90]), touch(160, 90), line("M66 92V176M58 92H74M58 176H74"),
  ],
  "spring.bow": () => [
    plate(150), group(58, 146, -90, spring(0, 0, 58, 190, { coils: 8, bow: 10 })), leaves(150, 144, 0),
  ],
  "spring.fitted_height": () => fitted(92, [
    gauge("M214 70h8v92h-8z"), gauge("M206 64h24v6h-24z"), gauge("M206 162h24v6h-24z"), touch(206, 70), touch(206, 164),
  ]),
  "spring.coil_gap": () => fitted(60, [leaves(190, 128, 0)]),
};

// A valve in its guide with the spring on it, tip up, as the head stands on its face.
function fitted(height, more) {
  const seat = 168;
  const top = seat - height;
  return [
    cut(`M40 ${seat}H280V196H40Z`), group(160, top - 26, 90, valve(0, 0)),
    spring(128, top, 64, height), part(`M116 ${top - 10}h88v10h-88z`), part(`M150 ${top - 20}h20l4 12h-28z`), ...more,
  ];
}
