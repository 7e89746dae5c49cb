// What is up, drawn on its part: with the value that was taken, or the best so far.
import { limitOf } from "../limit.js";
import { say, targetText } from "../words.js";
import { onPart } from "./on_part.js";

// Of a rock and a loss the reading is not yet the size: a ring, or a volume, still comes in.
const LIVE = new Set(["turn", "settle"]);
const RECESS = "valve.recess";
let up = ""; // what the limits were asked for
let limits = null;
let drawn = "";

// taken: the measurement just taken, or none; decimals: of the gauge in use.
export function showPart(into, bench, taken, decimals) {
  learn(bench);
  const target = taken ?? bench.target;
  const held = taken ? numbers(taken.limits) : limits;
  const value = taken ? numberOf(taken.value) : soFar(bench, decimals);
  // The reading alone proves nothing: what it is compared with has its uncertainty.
  const out = taken?.status === "FAIL";
  const key = JSON.stringify([target, held, value, out]);
  if (key === drawn) return;
  drawn = key;
  const made = target && onPart(target.characteristic, { value, limits: held, out, label: say("on_part", { what: targetText(target) }) });
  into.replaceChildren(...(made ? [made] : []));
}

async function learn({ job, target, kind }) {
  const key = JSON.stringify([job, target]);
  if (key === up) return;
  [up, limits] = [key, null];
  if (!target || kind === "look") return;
  const found = await limitOf(job, target, kind);
  if (up === key) limits = numbers(found?.limits);
}

function soFar({ kind, capture, stage, target }, decimals) {
  const onFace = target?.characteristic === RECESS && stage === 0;
  if (!LIVE.has(kind) || onFace || !(capture?.share > 0) || capture.value === null) return null;
  return Number(capture.value.toFixed(decimals + 1));
}

const numberOf = (text) => (text === null || text === undefined ? null : Number(text));

function numbers(each) {
  return each ? { lower: numberOf(each.lower), upper: numberOf(each.upper) } : null;
}
