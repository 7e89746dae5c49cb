// The gauges of the bench: what each says now, its zeros with their drift, and setting up a new one.
import { get } from "./ask.js";
import { formFor } from "./form.js";
import { element } from "./marks.js";
import { ringFields } from "./ring_fields.js";
import { wireSetUp } from "./set_up.js";
import { $, begin, table } from "./sheet.js";
import { named, say, when } from "./words.js";

const LOOK_MS = 500;
let drawn = ""; // what of the gauges stands on the page, but for what changes all the time

begin(async () => {
  await Promise.all([look(), showZeros(), wireSetUp()]);
  setInterval(() => look().catch(gone), LOOK_MS);
});

async function look() {
  const { gauges } = await get("/gauges");
  const still = gauges.map(({ value, said, readings, rejected, not_understood, reconnects, lost, ...rest }) => rest);
  if (JSON.stringify(still) !== drawn) $("here").replaceChildren(...gauges.map(gaugeShown));
  drawn = JSON.stringify(still);
  gauges.forEach((each, at) => {
    const [value, counts] = $("here").children[at].querySelectorAll(".value, .counts");
    write(value, shown(each));
    write(counts, [say("counts", each), each.not_understood && `${say("not_understood")}: ${each.not_understood}`].filter(Boolean).join(" · "));
  });
}

function shown({ value, unit, said }) {
  if (value !== null) return `${value} ${unit}`;
  return said && said !== "ok" ? named("said", said) : say("no_reading");
}

function write(into, text) {
  if (into.textContent !== text) into.textContent = text;
}

// A bench that does not answer has no readings that anybody could believe.
function gone() {
  drawn = "";
  $("here").replaceChildren(element("li", "bad", say("dead")));
}

function gaugeShown({ name, serial, port, profile, state, trouble, note, measures, resolution_mm, unit }) {
  const facts = [serial, port, profile, `${resolution_mm} ${unit ?? ""}`, ...measures.map((each) => named("characteristic", each))];
  return element(
    "li", "",
    element("b", "", name),
    ` ${named("state", state)} `,
    element("b", "value", ""),
    element("p", "soft", facts.filter(Boolean).join(" · ")),
    ...(trouble ? [element("p", "bad", trouble)] : []),
    ...(note ? [element("p", "", note)] : []),
    element("p", "soft counts", ""),
  );
}

// Zeros belong to the job on the bench: they say what its values were compared with.
async function showZeros() {
  const [known, bench] = await Promise.all([get("/gauges"), get("/bench")]);
  const { job } = bench;
  if (!job || !known.rings.length) {
    $("zero").replaceChildren(element("p", "", say(job ? "no_ring" : "no_job")));
    return;
  }
  const at = `/jobs/${encodeURIComponent(job)}`;
  const fields = ringFields(known, bench);
  $("zero").replaceChildren(formFor({ path: `${at}/zero`, fields, send: say("ring"), then: showZeros }));
  const { notes } = await get(`${at}/record`);
  const zeros = notes.filter((each) => each.kind === "gauge.zeroed").reverse();
  $("zeros").replaceChildren(zeros.length ? zeroTable(zeros) : "");
}

function zeroTable(zeros) {
  const heads = ["gauge", "ring", "shown", "drift", "at"].map((each) => named("column_zero", each));
  const rows = zeros.map(({ at, body }) => [body.gauge, `${body.ring}, ${body.size_mm} mm`, `${body.shown_mm} mm`, drift(body), when(at)]);
  return table(say("ring"), heads, rows);
}

function drift({ drift_mm, drifted }) {
  if (drift_mm === null) return say("first_zero");
  return element("span", drifted ? "bad" : "", say(drifted ? "drifted" : "steady", { drift: drift_mm }));
}
