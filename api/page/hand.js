// A value read off a tool without a wire: keyed, shown back, kept by a second press.
import { postFor } from "./ask.js";
import { toolsFor, unitsFor } from "./bench_facts.js";
import { badge, element } from "./marks.js";
import { drawPad, holdFocus, isPadKey, typed } from "./pad.js";
import { answerRow, question } from "./question.js";
import { inWords, limitUnitText, say } from "./words.js";

const RECESS = "valve.recess";
const $ = (id) => document.getElementById(id);
const lastTool = new Map(); // by characteristic: what was in the hand last

let about = null; // {job, target, person}: what a value would be kept for
let digits = "";
let unit = "mm";
let side = "deep";
let shown = null; // {byEnter} while a value is shown back: whether Enter keeps it
let checks = 0; // the last one that was asked for is the one that counts
let keeping = false;

export function wireHand() {
  drawPad($("keypad"), press);
  holdFocus($("show_back"), showBack);
  $("tool").onchange = () => {
    lastTool.set(about.target.characteristic, $("tool").value);
    enter();
  };
  document.addEventListener("keydown", onKey);
}

// Start on another target. known: the facts; inches: the plan thinks in inches.
export function beginHand(next, known, inches) {
  about = next;
  keeping = false;
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
  checks += 1;
  $("back").hidden = true;
  $("entry").hidden = false;
  $("hand_fault").textContent = "";
  $("entered_digits").textContent = digits || say("no_reading");
  $("entered_unit").textContent = about.target.characteristic === RECESS ? `${unit} ${say(side)}` : unit;
  $("show_back").disabled = digits === "";
}

function onKey(event) {
  const elsewhere = $("hand").hidden || document.querySelector("dialog[open]") || event.target.closest("select, input");
  if (elsewhere || keeping || $("hand").inert || event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
  if (isPadKey(event.key)) press(event.key);
  else if (event.key === "Escape") enter();
  else if (event.key === "Enter" && !event.target.closest("button, a")) shown ? shown.byEnter && $("keep_it").click() : showBack();
  else return;
  event.preventDefault();
}

const path = () => `/jobs/${encodeURIComponent(about.job)}/measurements`;

async function showBack() {
  if (digits === "") return;
  const sign = about.target.characteristic === RECESS && side === "proud" ? "-" : "";
  const body = { ...about.target, value: `${sign}${digits}`, unit, came: "keyed" };
  if ($("tool").value) body.gauge = $("tool").value;
  if (about.person) body.person = about.person;
  const mine = (checks += 1);
  const found = await postFor(`${path()}/check`, body);
  if (mine !== checks) return; // something else was keyed or asked for since, or is up
  if (!found.ok) $("hand_fault").textContent = found.fault;
  else showChecked(body, found.answer);
}

function showChecked(body, checked) {
  const odd = inWords(checked.question ?? "");
  const key = crypto.randomUUID();
  const answers = odd ? asking(body, odd) : answerRow([
    { id: "measure_again", text: say("change_it"), act: enter },
    { id: "keep_it", text: say("keep_it"), act: () => keep(body, key), className: "main" },
  ]);
  const doubt = checked.uncertainty === null ? "" : ` ± ${checked.uncertainty} ${checked.unit}`;
  const lines = [
    checked.limits ? `${say("limit")}: ${limitUnitText(checked)}` : say("no_limit"),
    checked.limit_source,
    checked.tool && say(checked.tool.assumed ? "tool_assumed" : "tool_is", checked.tool),
    inWords(checked.reason),
    ...checked.warnings.map(inWords),
  ];
  const facts = lines.filter(Boolean).map((each) => element("p", "about", each));
  present(
    element("p", "shown", checked.shown),
    element("p", "", badge(checked), doubt),
    ...(odd ? [answers, ...facts] : [...facts, answers]), // a question comes first: it is what is to be read
  );
  // What is odd is kept by its own answer only, never by the Enter of a gauge that types.
  shown = { byEnter: !odd };
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
  const asked = about;
  keeping = true;
  $("hand_fault").textContent = say("keeping");
  const found = await postFor(path(), body, key);
  if (asked !== about) return;
  keeping = false;
  $("hand_fault").textContent = found.question ? "" : found.fault;
  if (!found.question) return; // when it is kept, the bench puts the next one up
  present(asking(body, found.question));
  shown = { byEnter: false };
}
