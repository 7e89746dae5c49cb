// The page at the bench: what is up, the live number, the record so far, what to do.
import { again, press, wireActs } from "./acts.js";
import { get } from "./ask.js";
import { drawHead } from "./head.js";
import { shownLength, shownNumber, shownUnit, wireLength } from "./length.js";
import { wireLight } from "./light_switch.js";
import { limitsMayDiffer } from "./limit.js";
import { listen } from "./link.js";
import { badge, element } from "./marks.js";
import { clearNotice } from "./notice.js";
import { showPanels, wirePanels } from "./panels.js";
import { showResults } from "./results.js";
import { sound, speak } from "./sounds.js";
import { Trace } from "./trace.js";
import { showPart } from "./part/up.js";
import { sketch } from "./sketch/sketch.js";
import { gaugeLine, missed, troubleLine, troublesOf } from "./troubles.js";
import { findTyping, wireTyped } from "./typed.js";
import { showWork } from "./work.js";
import { fillWords, inWords, named, placeText, positionText, say, targetText, valueAndStatus, valueText } from "./words.js";

const RECORD_AFTER_MS = 150; // entries come in twos and threes; one look at the record does
const COMING_MAX = 3; // so that the gauges below them are seen
const CHARS_LEAST = 7; // a number with fewer is not written larger
const $ = (id) => document.getElementById(id);
const trace = new Trace($("trace"), $("trace_says"));
let frame = null; // the last word from the bench
let alive = false;
let record = null; // of the job on the bench
let pending = 0;
let unfocused = ""; // the button that had the focus when it could not be pressed any more
let troubled = 0; // how many loud troubles were told

function text(id, value) {
  if ($(id).textContent !== value) $(id).textContent = value;
}

function showFrame(message) {
  const before = frame;
  frame = message;
  const { bench } = message;
  trace.add(message.trace, message.gauges);
  if (before?.bench.job !== bench.job) readRecord();
  const doubted = bench.asks || bench.not_taken;
  if (doubted && !(before?.bench.asks || before?.bench.not_taken)) sound("not_kept");
  showUp(bench);
  showNumber(bench);
  redo("gauges", message.gauges.map(asListed), gaugeLine);
  showTroubles();
  showActs(bench);
  trace.draw(bench, gaugeInUse());
}

function showUp(bench) {
  text("job", bench.job ? `${say("job")} ${bench.number}` : say("no_job"));
  $("hand_on").href = bench.job ? `job.html?${new URLSearchParams({ job: bench.job })}` : "jobs.html";
  text("left", !bench.job ? "" : bench.remaining ? say("left", { n: bench.remaining }) : say("nothing_left"));
  const { target } = bench;
  text("position", target ? positionText(target.position) : "");
  text("what", target ? named("characteristic", target.characteristic) : say("nothing_up"));
  text("place", placeText(target?.place));
  redo("sketch", target ? [target] : [], (each) => sketch(each.characteristic, each.place, say("sketch", { what: targetText(each) })));
  text("where", [bench.kind !== "look" && bench.where, bench.gauge && `${say("where")}: ${bench.gauge}`].filter(Boolean).join(" · "));
  redo("cautions", [...bench.cautions, ...(bench.defer ? [bench.defer] : [])], asCaution);
  redo("coming", bench.coming.slice(0, COMING_MAX), (each) => element("li", "", nextText(each, target)));
}

// A caution; or what they all defer to, which is said once.
function asCaution(each) {
  if (!each.text) return element("p", "", each);
  return element("p", "", `${say("caution")}: ${each.text}`, element("small", "", say("caution_source", each)));
}

// Shorter where the next is measured as what is up.
function nextText(next, now) {
  if (next.characteristic !== now?.characteristic || !next.place) return targetText(next);
  return `${positionText(next.position)}, ${placeText(next.place)}`;
}

// Rebuild a list only when it changed: a list that is rebuilt thirty times a second cannot be read.
function redo(id, items, make) {
  const key = JSON.stringify(items);
  if ($(id).dataset.key === key) return;
  $(id).dataset.key = key;
  $(id).replaceChildren(...items.map(make));
}

// Without what changes with every reading and is not shown.
const asListed = ({ t_s, decimals, said, needed, ...shown }) => shown;

function gaugeInUse() {
  return frame.gauges.find((each) => each.name === frame.bench.gauge);
}

function showNumber(bench) {
  const gauge = gaugeInUse();
  const taken = bench.phase === "take-out" ? record?.measurements.find((m) => m.id === bench.last) : null;
  text("message", messageFor(bench));
  redo("done", taken ? [taken] : [], badge);
  showPart($("on_part"), bench, taken, gauge?.decimals ?? 3);
  document.body.classList.toggle("takeout", bench.phase === "take-out");
  document.body.classList.toggle("doubt", bench.asks);
  if (taken) {
    $("digits").classList.remove("none");
    const shown = shownLength(taken);
    text("digits", shown.value ?? say("no_reading"));
    text("unit", shown.unit);
    redo("live_label", [taken, ...judgedWith(taken)], withVerdict);
  } else {
    delete $("live_label").dataset.key;
    const number = bigNumber(bench, gauge);
    $("digits").classList.toggle("none", !number);
    text("digits", number ?? (gauge?.said && gauge.said !== "ok" ? named("said", gauge.said) : say("no_reading")));
    text("unit", number ? shownUnit(gauge.unit) : "");
    text("live_label", soFar(bench, gauge));
  }
  $("number").style.setProperty("--chars", Math.max(CHARS_LEAST, $("digits").textContent.length));
}

// What is worked out with a value and has a limit: the clearances of its pair.
const judgedWith = ({ id }) => record.measurements.filter((m) => m.came === "derived" && m.limits && m.inputs.includes(id));

function withVerdict(m) {
  const shown = shownLength(m);
  return element("span", "", badge(m), ` ${named("characteristic", m.characteristic)} ${valueText(shown)} ± ${shown.uncertainty}`);
}

// Whether the job on the bench is closed; whatever is left of it then stays unmeasured.
const isClosed = (bench) => record?.job.id === bench.job && Boolean(record.job.signed_at);

function messageFor(bench) {
  if (isClosed(bench)) return say(bench.remaining ? "closed_open" : "closed", { n: bench.remaining });
  if (bench.message) return inWords(bench.message);
  if (bench.kind === "look") return say("look_now");
  return $("hand").hidden ? (say(`do_${bench.kind}`) || bench.where) : say("key_now");
}

// Of a turning valve only the runout may stand large: where the plunger happens to be looks just
// like a runout, and lies just as near the limit.
function bigNumber(bench, gauge) {
  if (!gauge?.value) return null;
  const shown = bench.kind === "turn" ? bench.capture?.value?.toFixed(gauge.decimals + 1) ?? null : gauge.value;
  return shownNumber(shown, gauge.unit);
}

function soFar(bench, gauge) {
  const { capture } = bench;
  if (bench.kind === "turn" && gauge?.value) {
    const turns = capture && capture.turns !== null ? ` · ${say("turns", { n: capture.turns.toFixed(1) })}` : "";
    return `${say("runout_so_far")}${turns} · ${say("reads", { gauge: gauge.name, value: shownNumber(gauge.value, gauge.unit), unit: shownUnit(gauge.unit) })}`;
  }
  const parts = [gauge ? `${gauge.name}, ${say("live")}` : ""];
  if (capture && capture.value !== null) {
    const value = shownNumber(capture.value.toFixed((gauge?.decimals ?? 3) + 1), gauge?.unit);
    parts.push(say("so_far", { value, unit: `${shownUnit(gauge?.unit ?? "")}${bench.kind === "decay" ? "/s" : ""}` }));
  }
  if (capture && capture.turns !== null) parts.push(say("turns", { n: capture.turns.toFixed(1) }));
  return parts.filter(Boolean).join(" · ");
}

function showTroubles() {
  const lines = troublesOf(frame, alive);
  const loud = lines.filter(([, short]) => short).length;
  if (loud > troubled) sound("look_here");
  troubled = loud;
  document.body.classList.toggle("missed", Boolean(frame && missed(frame).length));
  redo("troubles", lines, troubleLine);
}

function showActs(bench) {
  const can = alive && frame.running && bench.job !== "" && !isClosed(bench);
  const panel = showPanels(bench, frame.gauges, record?.job.person, { again, keep: press });
  for (const id of ["look", "hand", "doubt"]) $(id).inert = !can;
  $("acts").hidden = panel === "doubt";
  text("key_in", say(panel === "hand" ? "to_gauge" : "key_in"));
  enable("again", can && (bench.target || bench.last));
  enable("skip", can && bench.target);
  // There is nothing to go on from while a value is keyed: its own button is the one to press.
  const keying = panel === "hand" && bench.phase === "capturing";
  enable("press", can && panel !== "look" && !keying);
  $("press").classList.toggle("main", !keying);
  text("press", say("press"));
  for (const id of ["ring", "temperature", "sign"]) enable(id, can);
  enable("key_in", can && bench.target && !["look", "doubt"].includes(panel));
  enable("undo", can && record?.measurements.some((m) => m.status !== "VOID" && m.came !== "derived"));
  enable("jump", can && bench.remaining);
  enable("new_job", alive);
}

// A button that cannot be pressed loses the focus; it has it again when it can.
function enable(id, can) {
  const button = $(id);
  if (button.disabled === !can) return;
  if (!can && document.activeElement === button) unfocused = id;
  button.disabled = !can;
  if (can && unfocused === id && document.activeElement === document.body) button.focus({ preventScroll: true });
  if (can && unfocused === id) unfocused = "";
}

async function readRecord() {
  pending = 0;
  const job = frame?.bench.job;
  let work = null;
  try {
    const at = `/jobs/${encodeURIComponent(job)}`;
    [record, work] = job ? await Promise.all([get(`${at}/record`), get(`${at}/work`)]) : [null, null];
  } catch {
    return; // the next entry, or the next connection, asks again
  }
  showResults($("results"), record?.measurements ?? []);
  showWork($("work"), work);
  drawHead($("head_map"), record?.decisions ?? [], frame.bench.target?.position);
}

function showEntry(message) {
  if (!pending) pending = setTimeout(readRecord, RECORD_AFTER_MS);
  limitsMayDiffer();
  const m = message.measurement;
  if (!m) return;
  clearNotice();
  sound("kept");
  const value = valueAndStatus(shownLength(m));
  speak(value);
  text("announce", say("announce", { what: targetText(m), value }));
}

function showLife(now) {
  alive = now;
  document.body.classList.toggle("dead", !now);
  showTroubles();
  if (frame) showActs(frame.bench);
  if (!now) return;
  readRecord(); // what was written while nobody listened
  limitsMayDiffer();
  findTyping();
}

fillWords(document);
text("message", say("connecting"));
$("trace").setAttribute("aria-label", say("trace"));
showTroubles();
wirePanels();
wireActs(() => frame?.bench ?? null); // before what a gauge types: the foot switch may be a letter
wireTyped(() => frame?.bench ?? null);
wireLength();
wireLight();
listen(showFrame, showEntry, showLife);
