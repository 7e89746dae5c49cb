// Bringing in: a file is looked at first, each bad row named with its reason, then the good ones
// are kept. What is seen is exactly what is kept: another file, or another word, is looked at anew.
import { get, postFor } from "./ask.js";
import { brought } from "./brought.js";
import { field, filled } from "./form.js";
import { $, begin, orSay } from "./sheet.js";
import { named, say } from "./words.js";

const WITHIN_MS = 120_000; // a table of two thousand rows is kept row by row
const LAYOUT = ["cylinders", "intake", "exhaust"];
const BASE64_BYTES = 0x8000;

let unitOf = new Map(); // by characteristic
let looked = null; // the path and the body that were looked at

begin(async (from) => {
  const id = from.get("job");
  const [{ plans }, { gauges }, { characteristics }, job] = await Promise.all([
    get("/plans"), get("/gauges"), get("/characteristics"), id ? get(`/jobs/${encodeURIComponent(id)}`) : null,
  ]);
  unitOf = new Map(characteristics.map((each) => [each.name, each.unit]));
  const kinds = kindsOf(plans.map((each) => each.name), gauges.map((each) => each.name), job);
  $("what").append(...Object.keys(kinds).map((each) => new Option(named("bring", each), each)));
  const choose = () => {
    const { fields, accept } = kinds[$("what").value];
    $("about").replaceChildren(...fields.map(field));
    $("file").accept = accept;
    $("file").value = "";
    anew();
  };
  $("what").onchange = choose;
  $("about").oninput = $("file").onchange = anew;
  $("about").onsubmit = (event) => event.preventDefault();
  $("look").onclick = () => orSay(() => look(kinds[$("what").value]));
  $("keep").onclick = () => orSay(() => show(true));
  choose();
});

// path: where it is sent, given what was filled in. lasting: what is filled in and belongs to the
// path, not to the body.
function kindsOf(plans, gauges, job) {
  const tables = ".csv,.xlsx";
  const needed = { required: true };
  return {
    measurements: {
      accept: tables, path: async ({ number }) => `/jobs/${encodeURIComponent(await jobOf(number, job))}/bring`, lasting: ["number"],
      fields: [{ name: "number", ...needed, value: job?.number ?? "" }, { name: "person" }],
    },
    limits: {
      accept: tables, path: ({ plan }) => `/plans/${encodeURIComponent(plan)}/bring`, lasting: ["plan"],
      fields: [{ name: "plan", options: plans }],
    },
    plan: {
      accept: tables, path: () => "/plans/bring", lasting: [],
      fields: [
        ...["name", "title", "source"].map((name) => ({ name, label: say(`plan_${name}`), ...needed })),
        ...LAYOUT.map((name) => ({ name, ...needed, value: name === "cylinders" ? "4" : "1" })),
      ],
    },
    calibration: {
      accept: ".xml", path: () => "/gauges/calibration", lasting: [],
      fields: [{ name: "gauge", label: say("which_gauge"), options: gauges }, { name: "person" }, { name: "due" }],
    },
  };
}

// A job by its number; the address may have said which already.
async function jobOf(said, job) {
  if (said === job?.number) return job.id;
  const { jobs } = await get(`/jobs?${new URLSearchParams({ number: said })}`);
  if (!jobs.length) throw new Error(say("no_such_job", { number: said }));
  return jobs[0].id;
}

function anew() {
  looked = null;
  $("keep").hidden = true;
  $("shown").replaceChildren();
  $("look").disabled = !$("file").files.length;
}

async function look(kind) {
  anew();
  if (!$("about").reportValidity()) return;
  const said = filled($("about"));
  const path = await kind.path(said);
  const rest = Object.fromEntries(Object.entries(said).filter(([name]) => !kind.lasting.includes(name) && !LAYOUT.includes(name)));
  const head = "cylinders" in said && { head: Object.fromEntries(LAYOUT.map((name) => [name, Number(said[name])])) };
  looked = { path, body: { ...rest, ...head, ...(await content($("file").files[0])) } };
  await show(false);
}

async function content(file) {
  if (file.name.toLowerCase().endsWith(".xlsx")) return { xlsx: base64(new Uint8Array(await file.arrayBuffer())) };
  const text = await file.text();
  return file.name.toLowerCase().endsWith(".xml") ? { dcc: text } : { csv: text };
}

function base64(bytes) {
  let letters = "";
  for (let at = 0; at < bytes.length; at += BASE64_BYTES) letters += String.fromCharCode(...bytes.subarray(at, at + BASE64_BYTES));
  return btoa(letters);
}

async function show(keep) {
  $("look").disabled = $("keep").disabled = true;
  const found = await postFor(looked.path, { ...looked.body, keep }, crypto.randomUUID(), WITHIN_MS);
  $("look").disabled = $("keep").disabled = false;
  if (!found.ok) throw new Error(found.fault);
  const { shown, canKeep } = brought(found.answer, unitOf, (right) => (looked.body.right = right));
  $("shown").replaceChildren(...shown);
  $("keep").hidden = keep || !canKeep;
}
