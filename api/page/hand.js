// A value read off a tool without a wire: keyed, shown back, kept by a second press.
import { postFor } from "./ask.js";
import { toolsFor, unitsFor } from "./bench_facts.js";
import { badge, element } from "./marks.js";
import { drawPad, holdFocus, isPadKey, typed } from "./pad.js";
import { answerRow, question } from "./question.js";
import { limitText, say } from "./words.js";

const RECESS = "valve.recess";
const $ = (id) => document.getElementById(id);
const lastTool = new Map(); // by characteristic: what was in the hand last

let about = null; // {job, target, person}: what a value would be kept for
let digits = "";
let unit = "mm";
let side = "deep";
let shown = null; // {body, key} of the value that is shown back
let busy = false;

export function wireHand() {
  drawPad($("keypad"), press);
  holdFocus($("show_back"), showBack);
  $("tool").onchange = () => lastTool.set(about.target.characteristic, $("tool").value);
  document.addEventListener("keydown", onKey);
}

// Start on another target. known: the facts; inches: the plan thinks in inches.
export function beginHand(next, known, inches) {
  about = next;
  digits = "";
  side = "deep";
  const name = about.target.characteristic;
  const units = unitsFor(known.unitOf.get(name));
  unit = inches && units.includes("in") ? "in" : units[0];
  const tools = toolsFor(known, name);
  $("tool").replaceChildren(...tools.map((each) => new Option(each.name, each.name)));
  $("tool").append(new Option(say("other_tool"), ""));
  if (lastTool.has(name)) $("tool").value = lastTool.get(name);
  choices($("units"), units, () => unit, (each) => (unit = each), (each) => each);
  choices($("sides"), name === RECESS ? ["deep", "proud"] : [], () => side, (each) => (side = each), say);
  enter();
}

function choices(into, all, now, choose, word) {
  into.hidden = all.length < 2;
  into.replaceChildren(...all.map((each) => {
    const made = element("button", "", word(each));
    made.type = "button";
    made.setAttribute("aria-pressed", String(each === now()));
    holdFocus(made, () => {
      choose(each);
      choices(into, all, now, choose, word);
      enter();
    });
    return made;
  }));
}

function press(key) {
  if (shown) digits = ""; // what comes after a value was shown back is another value
  digits = typed(digits, key);
  enter();
}

function enter() {
  shown = null;
  $("back").hidden = true;
  $("entry").hidden = false;
  $("hand_fault").textContent = "";
  $("entered_digits").textContent = digits || say("no_reading");
  $("entered_unit").textContent = about.target.characteristic === RECESS ? `${unit} ${say(side)}` : unit;
  $("show_back").disabled = digits === "";
}

function onKey(event) {
  const elsewhere = $("hand").hidden || document.querySelector("dialog[open]") || event.target.closest("select, input");
  if (elsewhere || event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
  if (isPadKey(event.key)) press(event.key);
  else if (event.key === "Escape") enter();
  else if (event.key === "Enter" && !event.target.closest("button, a")) shown ? shown.keep?.() : showBack();
  else return;
  event.preventDefault();
}

const path = () => `/jobs/${encodeURIComponent(about.job)}/measurements`;

// One request at a time; what comes back for something that is no longer up is dropped.
async function ask(where, body, key) {
  if (busy) return null;
  busy = true;
  const asked = about;
  const found = await postFor(where, body, key);
  busy = false;
  return asked === about ? found : null;
}

async function showBack() {
  if (digits === "") return;
  const sign = about.target.characteristic === RECESS && side === "proud" ? "-" : "";
  const body = { ...about.target, value: `${sign}${digits}`, unit, came: "keyed" };
  if ($("tool").value) body.gauge = $("tool").value;
  if (about.person) body.person = about.person;
  const typedNow = digits;
  const found = await ask(`${path()}/check`, body);
  if (!found || typedNow !== digits) return;
  if (!found.ok) $("hand_fault").textContent = found.fault;
  else showChecked(body, found.answer);
}

function showChecked(body, checked) {
  const odd = checked.question;
  const answers = odd ? asking(body, odd) : answerRow([
    { id: "measure_again", text: say("change_it"), act: enter },
    { id: "keep_it", text: say("keep_it"), act: () => shown.keep(), className: "main" },
  ]);
  const doubt = checked.uncertainty === null ? "" : ` ± ${checked.uncertainty} ${checked.unit}`;
  const lines = [
    checked.limits ? `${say("limit")}: ${limitText(checked)} ${checked.unit}` : say("no_limit"),
    checked.limit_source,
    checked.tool && say(checked.tool.assumed ? "tool_assumed" : "tool_is", checked.tool),
    checked.reason,
    ...checked.warnings,
  ];
  present(
    element("p", "shown", checked.shown),
    element("p", "", badge(checked.status), doubt),
    ...lines.filter(Boolean).map((each) => element("p", "about", each)),
    answers,
  );
  // What is odd is kept by its own answer only, never by the Enter of a gauge that types.
  const key = crypto.randomUUID();
  shown = { keep: odd ? null : () => keep(body, key) };
}

function present(...parts) {
  $("entry").hidden = true;
  $("hand_fault").textContent = "";
  $("back").hidden = false;
  $("back").replaceChildren(...parts);
}

function asking(body, odd) {
  const key = crypto.randomUUID();
  return question(odd, [
    { id: "measure_again", text: say("measure_again"), act: () => press("⌫") },
    { id: "keep_it", text: say("keep_right"), act: () => keep({ ...body, confirmed: true }, key) },
  ]);
}

async function keep(body, key) {
  const found = await ask(path(), body, key);
  if (!found || found.ok) return; // the bench puts the next one up
  if (!found.question) {
    $("hand_fault").textContent = found.fault;
    return;
  }
  present(asking(body, found.question));
  shown = { keep: null };
}
