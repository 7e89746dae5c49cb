// The limit of what is up and where it comes from, before there is a value.
import { postFor } from "./ask.js";
import { facts } from "./bench_facts.js";
import { shownLength, shownUnit } from "./length.js";
import { limitText, say } from "./words.js";

let asked = { key: "", answer: null }; // several parts of the page ask for what is up

// The check of a value that is kept nowhere says which limit would hold, from whom, and in which
// unit the plan thinks: {limit, limits, source, reason, inches}; null where it could not be asked.
export function limitOf(job, target, kind) {
  const key = JSON.stringify([job, target]);
  if (asked.key !== key) asked = { key, answer: ask(job, target, kind) };
  const mine = asked;
  return mine.answer.then((found) => {
    if (!found && asked === mine) asked = { key: "", answer: null }; // the next one asks again
    return found;
  });
}

async function ask(job, target, kind) {
  const unit = (await facts())?.unitOf.get(target.characteristic);
  if (!unit) return null;
  const value = kind === "look" ? "1" : "0";
  const body = { ...target, value, unit, came: "keyed" };
  const { ok, answer } = await postFor(`/jobs/${encodeURIComponent(job)}/measurements/check`, body);
  if (!ok) return null;
  const limit = answer.limits ? `${say("limit")}: ${limitText(shownLength(answer))} ${shownUnit(answer.unit)}` : say("no_limit");
  return {
    limit: kind === "look" ? "" : limit,
    limits: answer.limits,
    source: answer.limits && kind !== "look" ? answer.limit_source ?? "" : "",
    reason: answer.reason,
    inches: answer.shown.includes(" in") && answer.shown.endsWith("mm)"),
  };
}
