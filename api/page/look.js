// A look: what to look for, and the answers. One that has to stay for a time is watched by a clock.
import { post, postFor } from "./ask.js";
import { element } from "./marks.js";
import { answerRow, question } from "./question.js";
import { inWords, say } from "./words.js";

const TIMED = new Set(["seat.leak_fluid", "valve.free_movement"]);
const $ = (id) => document.getElementById(id);
const TICK_MS = 200;
let about = null; // {job, target}
let key = ""; // of the one answer to what is up: pressed twice, it is still given once
let sinceMs = null;
let heldS = null;

export function wireLook() {
  setInterval(() => {
    if (sinceMs !== null) $("clock").textContent = say("watched", { s: seconds() });
  }, TICK_MS);
}

export function beginLook(next, where) {
  about = next;
  key = crypto.randomUUID();
  sinceMs = heldS = null;
  $("look_for").textContent = where;
  $("hold").textContent = "";
  offer();
}

const seconds = () => Math.floor((performance.now() - sinceMs) / 1000);
const path = () => `/jobs/${encodeURIComponent(about.job)}`;

function offer() {
  const timed = TIMED.has(about.target.characteristic) && sinceMs === null;
  $("clock").textContent = "";
  $("look_fault").textContent = "";
  $("look_answers").replaceChildren(
    ...(timed ? [answerRow([{ id: "start_clock", text: say("start_clock"), act: start }])] : []),
    answerRow([
      { id: "look_good", text: say("look_good"), act: good, className: "yes" },
      { id: "look_bad", text: say("look_bad"), act: () => answer(false), className: "no" },
      { id: "look_unsure", text: say("look_unsure"), act: unsure },
    ]),
  );
}

function start() {
  sinceMs = performance.now();
  offer();
}

// A yes that was watched too briefly is asked about: it would say nothing yet.
async function good() {
  const asked = about;
  heldS = sinceMs === null ? null : String(seconds());
  if (!TIMED.has(about.target.characteristic)) return answer(true);
  const body = { ...about.target, value: "1", unit: "1", came: "keyed", ...(heldS && { held_s: heldS }) };
  const found = await postFor(`${path()}/measurements/check`, body);
  if (asked !== about) return undefined;
  if (!found.ok) return said(found.fault);
  if (!found.answer.reason) return answer(true);
  return $("look_answers").replaceChildren(question(inWords(found.answer.reason), [
    { id: "look_on", text: say("look_on"), act: offer },
    { id: "look_short", text: say("look_short"), act: () => answer(true) },
  ]));
}

async function answer(passed) {
  const asked = about;
  const fault = await post(`${path()}/answer`, { passed, ...(passed && heldS && { held_s: heldS }) }, key);
  if (asked === about) said(fault);
}

// Not seen is not measured: the record says so, and it never counts as good.
async function unsure() {
  const asked = about;
  const fault = await post(`${path()}/skip`, { ...about.target, reason: say("look_unsure_reason") }, key);
  if (asked === about) said(fault);
}

function said(fault) {
  $("look_fault").replaceChildren(fault ? element("span", "", fault) : "");
}
