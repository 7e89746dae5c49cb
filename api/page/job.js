// One job: where a scanned label leads, and where its exports are had. Without a job: all of them.
import { get } from "./ask.js";
import { element } from "./marks.js";
import { wireLight } from "./light_switch.js";
import { fillWords, named, say } from "./words.js";

const FORMATS = ["pdf", "xlsx", "csv", "json", "qif", "parquet", "labels", "bundle"];
const asked = new URLSearchParams(location.search);
const $ = (id) => document.getElementById(id);

fillWords(document);
wireLight();
try {
  await (asked.get("job") ? showJob(asked.get("job")) : showJobs());
} catch (error) {
  $("fault").textContent = error.message;
}

async function showJob(id) {
  const record = await get(`/jobs/${encodeURIComponent(id)}/record`);
  $("job").textContent = `${say("job")} ${record.job.number}: ${record.job.plan_title}`;
  $("verdict").textContent = named("decision", record.verdict);
  $("parts").replaceChildren(...record.decisions.map(partLine));
  $("paper").addEventListener("change", () => showFormats(id));
  $("length").addEventListener("change", () => showFormats(id));
  showFormats(id);
  $("shown").hidden = false;
  document.querySelector(".scanned")?.scrollIntoView({ block: "center" });
}

function partLine({ position, part, decision, reasons }) {
  const scanned = position === asked.get("position") && part === asked.get("part");
  const why = reasons.filter((each) => each.verdict !== "accept").map((each) => each.text);
  return element(
    "li",
    scanned ? "scanned" : "",
    element("b", "", `${position} ${named("part", part)}: ${named("decision", decision)}`),
    element("small", "", why.length ? ` ${why.join("; ")}` : ""),
  );
}

function showFormats(id) {
  const wishes = new URLSearchParams({ paper: $("paper").value, length: $("length").value });
  $("formats").replaceChildren(
    ...FORMATS.map((format) => {
      const link = element("a", "", format);
      link.href = `/api/v1/jobs/${encodeURIComponent(id)}/export/${format}?${wishes}`;
      link.download = "";
      return element("li", "", link, named("format", format));
    }),
  );
}

async function showJobs() {
  const { jobs } = await get("/jobs");
  $("job").textContent = say(jobs.length ? "jobs" : "no_jobs");
  $("jobs").replaceChildren(
    ...jobs.map(({ id, number, opened_at }) => {
      const link = element("a", "", number);
      link.href = `job.html?${new URLSearchParams({ job: id })}`;
      return element("li", "", link, ` ${opened_at.slice(0, 10)}`);
    }),
  );
  $("jobs").hidden = false;
}
