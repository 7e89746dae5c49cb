// What a ring is read with and which: for a form. The gauge that is needed is chosen already.
import { say } from "./words.js";

const COMPARES = "guide.diameter";

// bench: what is up, for the gauge that measures it; else one that compares needs a ring most.
export function ringFields({ gauges, rings }, bench) {
  const able = gauges.filter((each) => each.takes_zero);
  const kept = (what) => able.find((each) => each.measures.includes(what));
  const needed = able.find((each) => each.name === bench.gauge) ?? kept(bench.target?.characteristic) ?? kept(COMPARES) ?? able[0];
  return [
    { name: "gauge", label: say("which_gauge"), options: able.map((each) => each.name), value: needed?.name },
    { name: "ring", label: say("which_ring"), options: rings.map((each) => ({ value: each.name, text: `${each.name}: ${each.size_mm} mm` })) },
  ];
}
