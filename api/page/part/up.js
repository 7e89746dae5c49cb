// What is up, drawn on its part: with the value that was taken, or the best so far.
import { limitOf } from "../limit.js";
import { say, targetText } from "../words.js";
import { onPart } from "./on_part.js";

// Of a rock and a loss the reading is not yet the size: a ring, or a volume, still comes in.
const LIVE = new Set(["turn", "settle"]);
const RECESS = "valve.recess";
let up = ""; // what the limits were asked for
let limits = null;
let partner = null; // the size of the other part of the pair, where that says what fits
let drawn = "";

// taken: the measurement just taken, or none; decimals: of the gauge in use.
export function showPart(into, bench, taken, decimals) {
  const target = taken ?? bench.target;
  learn(bench, target);
  const held = taken?.limits ? numbers(taken.limits) : limits;
  const value = taken ? numberOf(taken.value) : soFar(bench, decimals);
  // The reading alone proves nothing: what it is compared with has its uncertainty.
  const out = taken?.status === "FAIL";
  const key = JSON.stringify([target, held, partner, value, out]);
  if (key === drawn) return;
  drawn = key;
  const made = target && onPart(target.characteristic, { value, limits: held, partner, out, label: say("on_part", { what: targetText(target) }) });
  into.replaceChildren(...(made ? [made] : []));
}

async function learn({ job, kind }, target) {
  const key = JSON.stringify([job, target?.characteristic, target?.position, target?.place]);
  if (key !== up) [up, limits, partner] = [key, null, null];
  if (!target || kind === "look") return;
  const found = await limitOf(job, target, kind);
  if (up !== key) return;
  limits = numbers(found?.limits);
  partner = found?.partner ? nearest(target, found.partner) : null;
}

// The end of the partner that comes closest: the largest stem in a bore, the smallest bore of a stem.
function nearest({ characteristic }, { partner_least, partner_most }) {
  return Number(characteristic === "guide.diameter" ? partner_most : partner_least);
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
