// What does not change while the page is open: the units of characteristics, tools, who measures what.
import { get } from "./ask.js";

const EYE_ONLY = new Set(["straight edge and feeler leaves", "feeler leaves", "loupe"]);
const UNITS = { mm: ["mm", "in"], N: ["N", "lbf"], "mbar.l/s": ["mbar.l/s"] };

let asked = null;

// {unitOf, tools, measures}: asked for once; asked again when it failed.
export function facts() {
  asked ??= read().catch(() => {
    asked = null;
    return null;
  });
  return asked;
}

async function read() {
  const [{ gauges, tools }, { characteristics }] = await Promise.all([get("/gauges"), get("/characteristics")]);
  return {
    tools,
    unitOf: new Map(characteristics.map((each) => [each.name, each.unit])),
    measures: new Map(gauges.map((each) => [each.name, each.measures])),
  };
}

export function unitsFor(unit) {
  return UNITS[unit] ?? [unit];
}

// Only those that give the unit, the usual ones first: of them a tool of this bench before its kind.
export function toolsFor({ tools, unitOf }, characteristic) {
  const fitting = tools.filter((each) => each.unit === unitOf.get(characteristic));
  const kindOf = (each) => tools.find(({ name, kind }) => kind === null && name === each.kind) ?? each;
  const usual = (each) => kindOf(each).usual_for.includes(characteristic);
  return fitting.toSorted((a, b) => usual(b) - usual(a));
}

// Whether what is up is read by eye: its tool has no wire, or no gauge of this bench measures it.
// One that was pulled out is missed, not replaced by a pad.
export function isByHand({ tools, unitOf, measures }, characteristic, kind, gauges) {
  if (gauges.some((each) => measures.get(each.name)?.includes(characteristic))) return false;
  if (tools.some((each) => EYE_ONLY.has(each.name) && each.usual_for.includes(characteristic))) return true;
  const unit = unitOf.get(characteristic);
  const gives = (each) => each.unit === null || each.unit === unit || kind === "decay";
  return !gauges.some((each) => measures.get(each.name)?.length === 0 && gives(each));
}
