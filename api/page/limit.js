// The limit of what is up and where it comes from, before there is a value.
import { postFor } from "./ask.js";
import { facts } from "./bench_facts.js";
import { shownLength, shownNumber, shownUnit } from "./length.js";
import { element } from "./marks.js";
import { inWords, limitText, named, say } from "./words.js";

const RETRY_MS = 2000;
const answers = new Map(); // several parts of the page ask for what is up, at every frame
let shown = { about: "", words: "" }; // the limit that stands on the page

// After an entry another limit may hold: a work was done, or the other part of a pair measured.
export function limitsMayDiffer() {
  answers.clear();
}

// The check of a value that is kept nowhere says which limit would hold, from whom, and in which
// unit the plan thinks: {limit, limits, partner, source, reason, inches}; null where it could not be
// asked. Of a diameter that is judged by its pair, limits are those that fit the partner.
export function limitOf(job, { characteristic, position, place }, kind) {
  const target = { characteristic, position, place };
  const key = JSON.stringify([job, target]);
  if (!answers.has(key)) answers.set(key, askOnce(key, job, target, kind));
  return answers.get(key);
}

async function askOnce(key, ...about) {
  const found = await ask(...about);
  if (!found) setTimeout(() => answers.delete(key), RETRY_MS);
  return found;
}

// The limit of what is up, in words, with who says so.
export async function showLimit(into, { job, target, kind }) {
  const about = JSON.stringify([job, target]);
  if (shown.about !== about) {
    shown = { about, words: "" };
    into.replaceChildren();
  }
  const mine = shown;
  const found = target && (await limitOf(job, target, kind));
  const words = found ? `${found.limit}\n${found.source}` : "";
  if (shown !== mine || mine.words === words) return;
  mine.words = words;
  into.replaceChildren(...(found ? [found.limit, element("small", "", found.source)] : []));
}

async function ask(job, target, kind) {
  const unit = (await facts())?.unitOf.get(target.characteristic);
  if (!unit) return null;
  const value = kind === "look" ? "1" : "0";
  const body = { ...target, value, unit, came: "keyed" };
  const { ok, answer } = await postFor(`/jobs/${encodeURIComponent(job)}/measurements/check`, body);
  if (!ok) return null;
  return {
    limit: kind === "look" ? "" : limitWords(answer),
    limits: answer.limits ?? answer.fits,
    partner: answer.fits,
    source: answer.limits && kind !== "look" ? answer.limit_source ?? "" : fitsWith(answer),
    reason: inWords(answer.reason),
    inches: answer.shown.includes(" in") && answer.shown.endsWith("mm)"),
  };
}

function limitWords(answer) {
  const { limits, fits } = answer;
  if (!limits && !fits) return say("no_limit");
  const shown = limitText(shownLength({ ...answer, limits: limits ?? fits }));
  return `${say(limits ? "limit" : "fits")}: ${shown} ${shownUnit(answer.unit)}`;
}

function fitsWith({ fits, unit }) {
  if (!fits) return "";
  const [least, most] = [fits.partner_least, fits.partner_most].map((each) => shownNumber(each, unit));
  const range = least === most ? least : say("limit_both", { lower: least, upper: most });
  return say("fits_with", { partner: named("characteristic", fits.partner), range, unit: shownUnit(unit) });
}
