// The limit of what is up and where it comes from, before there is a value.
import { postFor } from "./ask.js";
import { facts } from "./bench_facts.js";
import { limitText, say } from "./words.js";

// The check of a value that is kept nowhere says which limit would hold, from whom, and in which
// unit the plan thinks: {limit, source, reason, inches}; null where it could not be asked.
export async function limitOf(job, target, kind) {
  const unit = (await facts())?.unitOf.get(target.characteristic);
  if (!unit) return null;
  const value = kind === "look" ? "1" : "0";
  const body = { ...target, value, unit, came: "keyed" };
  const { ok, answer } = await postFor(`/jobs/${encodeURIComponent(job)}/measurements/check`, body);
  if (!ok) return null;
  const limit = answer.limits ? `${say("limit")}: ${limitText(answer)} ${answer.unit}` : say("no_limit");
  return {
    limit: kind === "look" ? "" : limit,
    source: answer.limits && kind !== "look" ? answer.limit_source ?? "" : "",
    reason: answer.reason,
    inches: answer.shown.includes(" in") && answer.shown.endsWith("mm)"),
  };
}
