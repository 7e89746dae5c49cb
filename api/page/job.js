// One job: what it is, what is decided, what has to be done, what may be left out, signing it off,
// and its exports. A scanned label leads here, to its part.
import { get, putUp } from "./ask.js";
import { formFor } from "./form.js";
import { element, sign } from "./marks.js";
import { offerShown } from "./offer.js";
import { photographForm, photographsShown } from "./photographs.js";
import { $, about, begin, link } from "./sheet.js";
import { signing } from "./signing.js";
import { showWork } from "./work.js";
import { inWords, named, partText, positionText, say, when } from "./words.js";

const FORMATS = ["pdf", "xlsx", "csv", "json", "qif", "parquet", "labels", "bundle"];
const BECAUSE = ["missing", "scrap", "other"];
const REASONS_SHOWN = 2; // the rest stands on the page of its position
let asked = null;

begin(async (from) => {
  asked = from;
  const id = from.get("job");
  if (!id) throw new Error(say("which_job"));
  $("paper").onchange = $("length").onchange = () => showFormats(id);
  await show(id);
  document.querySelector(".scanned")?.scrollIntoView({ block: "center" });
});

async function show(id) {
  const at = `/jobs/${encodeURIComponent(id)}`;
  const [record, work, offer, bench] = await Promise.all([get(`${at}/record`), get(`${at}/work`), get(`${at}/matching`), get("/bench")]);
  const { job } = record;
  $("job").textContent = `${say("job")} ${job.number}: ${job.plan_title}`;
  $("verdict").textContent = named("decision", record.verdict);
  $("facts").replaceChildren(...facts(record));
  $("to_head").href = about("head", { job: id });
  $("to_bring").href = about("bring", { job: id });
  $("parts").replaceChildren(...record.decisions.map((each) => partLine(id, each)));
  showWork($("work"), work);
  $("offer").replaceChildren(...offerShown(offer));
  showFormats(id);
  showOpen(record);
  await showActs(at, record, bench);
  $("shown").hidden = false;
}

function facts({ job, remaining }) {
  const names = ["customer", "complaint", "head_serial", "missing", "cylinder_one", "person"];
  const said = names.map((name) => [say(name), job[name]]);
  const closed = job.signed_at && [when(job.signed_at), job.signed_by, job.signed_reason].filter(Boolean).join(", ");
  said.push([named("column", "opened"), when(job.opened_at)], [named("job_state", "closed"), closed]);
  said.push([say("to_measure"), String(remaining)]);
  return said.filter(([, value]) => value).flatMap(([name, value]) => [element("dt", "", name), element("dd", "", value)]);
}

function partLine(id, { position, part, decision, reasons }) {
  const scanned = position === asked.get("position") && part === asked.get("part");
  const why = reasons.filter((each) => each.verdict !== "accept").map((each) => inWords(each.text));
  return element(
    "li",
    scanned ? "scanned" : "",
    link(partText(position, part), about("head", { job: id, position })),
    ": ",
    sign(decision),
    element("small", "", why.length ? ` ${short(why)}` : ""),
  );
}

const settling = (points) => [...new Set(points.map((each) => inWords(each.settles)))].filter(Boolean).join("; ");

function short(why) {
  const more = why.length - REASONS_SHOWN;
  return [...why.slice(0, REASONS_SHOWN), ...(more > 0 ? [say("and_more", { n: more })] : [])].join("; ");
}

function showFormats(id) {
  const wishes = new URLSearchParams({ paper: $("paper").value, length: $("length").value });
  $("formats").replaceChildren(
    ...FORMATS.map((format) => {
      const made = link(format, `/api/v1/jobs/${encodeURIComponent(id)}/export/${format}?${wishes}`);
      made.download = "";
      return element("li", "", element("b", "", made), ` ${named("format", format)}`);
    }),
  );
}

// What stands in the way of a sound signature, each with what would close it.
function showOpen(record) {
  const open = Map.groupBy(record.open_points, ({ position, part }) => partText(position, part));
  $("sign_help").textContent = record.job.signed_at ? "" : signing("", record).help;
  $("open").hidden = !open.size;
  $("open_many").textContent = say("open_many", { n: open.size });
  $("open_points").replaceChildren(
    ...[...open].map(([where, points]) =>
      element("li", "", sign(points[0].decision), ` ${where}: ${short(points.map((each) => inWords(each.text)))}`, element("small", "", ` ${settling(points)}`)),
    ),
  );
}

// What is written into the job; nothing more, once it is closed. bench: what is on it may be another.
async function showActs(at, record, bench) {
  const again = () => show(record.job.id);
  const closed = () => element("p", "", say("closed"));
  const acts = { done_work: doneWork, leave_out: leaveOut, sign: signOff };
  for (const [id, form] of Object.entries(acts)) {
    $(id).replaceChildren(record.job.signed_at ? closed() : formFor(form(at, record, again)));
  }
  const all = { value: "", text: say("of_the_job") };
  const form = photographForm(at, [all, ...positions(record)], [all, ...parts(record)], record.job.person ?? "", again);
  $("photograph").replaceChildren(record.job.signed_at ? closed() : form);
  $("photographs").replaceChildren(...(await photographsShown(at)));
  const up = bench.job !== record.job.id && !record.job.signed_at ? await putUp(record.job.id) : null;
  const help = bench.job ? say("put_up_help", { number: record.job.number, now: bench.number }) : "";
  $("put_up").replaceChildren(...(up ? [element("p", "soft", help), formFor({ ...up, send: say("put_up"), then: () => location.assign("./") })] : []));
}

const positions = ({ decisions }) => [...new Set(decisions.map((each) => each.position))].map((value) => ({ value, text: positionText(value) }));
const parts = ({ decisions }) => [...new Set(decisions.map((each) => each.part))].map((value) => ({ value, text: named("part", value) }));

function doneWork(at, record, then) {
  const fields = [
    { name: "position", options: positions(record) },
    { name: "part", label: say("which_part"), options: parts(record) },
    { name: "what", label: say("what_done"), required: true },
    { name: "person", value: record.job.person ?? "" },
  ];
  return { path: `${at}/rework`, fields, then };
}

function leaveOut(at, record, then) {
  const any = { value: "", text: say("every_one") };
  const fields = [
    { name: "position", options: [any, ...positions(record)] },
    { name: "part", label: say("which_part"), options: [any, ...parts(record)] },
    { name: "because", options: BECAUSE.map((value) => ({ value, text: named("because_of", value) })) },
    { name: "reason", required: true },
    { name: "person", value: record.job.person ?? "" },
  ];
  return { path: `${at}/skip`, fields, send: say("leave_out"), then };
}

const signOff = (at, record, then) => ({ ...signing(at, record), then });
