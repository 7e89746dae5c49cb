// What can be done at the bench, by touch, keyboard and foot switch alike.
import { askFor, choose, get, post } from "./ask.js";
import { askDevice } from "./device.js";
import { wireFoot } from "./foot.js";
import { shownLength } from "./length.js";
import { notify } from "./notice.js";
import { togglePad } from "./panels.js";
import { ringFields } from "./ring_fields.js";
import { signing } from "./signing.js";
import { named, placeText, positionText, say, targetText, valueText } from "./words.js";

const $ = (id) => document.getElementById(id);
const KEYS = { a: "again", u: "undo", s: "skip", j: "jump", g: "press" };
let now = () => null; // the bench as it was told last

// bench(): as it was told last.
export function wireActs(bench) {
  now = bench;
  const acts = {
    again, undo: () => undo(), skip, jump, press, ring, temperature, sign, key_in: togglePad,
    new_job: newJob, device: askDevice,
  };
  for (const [id, act] of Object.entries(acts)) $(id).onclick = act;
  wireFoot({
    short: () => byFoot("doubt_keep", "press"),
    long: () => byFoot("doubt_again", "again"),
    twice: () => !$("undo").disabled && undo(say("undo_by_foot")),
  });
  document.addEventListener("keydown", onKey);
}

// For a question of the bench, which answers with the same two.
export const again = () => send(`${job()}/again`);
export const press = () => send("/bench/press");

const job = () => `/jobs/${encodeURIComponent(now().job)}`;

function onKey(event) {
  const id = KEYS[event.key.toLowerCase()];
  const elsewhere = event.ctrlKey || event.altKey || event.metaKey || $("asking").open || event.target.closest?.("input, select, textarea");
  if (!id || elsewhere || event.repeat || $(id).disabled) return;
  event.preventDefault();
  $(id).click();
}

// A question of the bench has answers of its own, which cannot be given before it could be read.
function byFoot(answer, button) {
  ($("doubt").hidden ? $(button) : $(answer))?.click();
}

async function send(path, body = {}) {
  const fault = await post(path, body);
  if (fault) notify(fault, "look_here");
}

const reason = { name: "reason", required: true };

function skip() {
  const { target } = now();
  askFor({
    title: say("skip"), help: say("skip_help", { what: targetText(target) }), path: `${job()}/skip`, fields: [reason],
    also: target, // what is up may have changed by the time that it is sent
    quick: [
      { text: say("skip_missing"), body: { reason: say("skip_missing"), because: "missing" } },
      { text: say("skip_scrap"), body: { reason: say("skip_scrap"), because: "scrap" } },
      { text: say("skip_reach"), body: { reason: say("skip_reach") } },
    ],
  });
}

// The last that was kept and still stands becomes void, and is up again. why: without asking.
async function undo(why) {
  const at = job();
  let last;
  try {
    const { measurements } = await get(`${at}/record`);
    last = measurements.findLast((m) => m.status !== "VOID" && m.came !== "derived");
  } catch {
    return notify(say("unreachable"), "look_here");
  }
  if (!last) return notify(say("undo_none"), "look_here");
  const { characteristic, position, place } = last;
  const what = `${targetText(last)}, ${valueText(shownLength(last))}`;
  const path = `${at}/measurements/${last.id}/void`;
  const upAgain = async () => {
    await send(`${at}/up`, { characteristic, position, place });
    notify(say("undone", { what }), "not_kept");
  };
  if (why) {
    const fault = await post(path, { reason: why });
    return fault ? notify(fault, "look_here") : upAgain();
  }
  return askFor({
    title: say("undo"), help: say("void_help", { what }), path, fields: [reason], then: upAgain,
    quick: ["undo_slipped", "undo_other", "undo_dirty"].map((key) => ({ text: say(key), body: { reason: say(key) } })),
  });
}

// To what the hand found: the position, then what is measured there, then where on the part.
async function jump() {
  const at = job();
  try {
    const { targets } = await get(`${at}/remaining`);
    const words = [(each) => positionText(each.position), (each) => named("characteristic", each.characteristic), (each) => placeText(each.place)];
    narrow(targets, words, (target) => send(`${at}/up`, target));
  } catch {
    notify(say("unreachable"), "look_here");
  }
}

// Choose by one word after the other; nothing is asked where there is no choice.
function narrow(targets, [word, ...more], up) {
  if (targets.length === 1) return up(targets[0]);
  const groups = Map.groupBy(targets, word);
  if (groups.size === 1) return narrow(targets, more, up);
  return choose({
    title: say("jump"), help: say("jump_help"),
    options: [...groups].map(([text, some]) => ({ text: some.length > 1 ? `${text} (${some.length})` : text, act: () => narrow(some, more, up) })),
  });
}

function temperature() {
  askFor({ title: say("temperature"), path: `${job()}/temperature`, fields: [{ name: "part_c", required: true }, { name: "gauge_c", required: true }], then: warned });
}

async function sign() {
  const at = job();
  try {
    askFor({ title: say("sign"), ...signing(at, await get(`${at}/record`)) });
  } catch {
    notify(say("unreachable"), "look_here");
  }
}

// What the bench says at once of what it noted: a zero that moved, a part that is too warm.
function warned({ entries }) {
  const said = entries.map((each) => each.body.warning).find(Boolean);
  if (said) notify(said, "look_here");
}

async function ring() {
  const path = `${job()}/zero`;
  const fields = ringFields(await get("/gauges"), now());
  askFor({ title: say("ring"), help: say("ring_help"), path, fields, then: warned });
}

// There is one way of opening a job: it asks for the plan, and for all that is said of the head.
function newJob() {
  location.assign("start.html");
}
