// The head of one job: every position with its parts and their decisions, and one of them opened.
import { get } from "./ask.js";
import { drawHead } from "./head.js";
import { inInches, wireLength } from "./length.js";
import { element, sign } from "./marks.js";
import { positionParts } from "./position.js";
import { $, about, begin, link } from "./sheet.js";
import { named, positionText, say } from "./words.js";

begin(async (asked) => {
  wireLength();
  const id = asked.get("job") ?? (await get("/bench")).job;
  if (!id) throw new Error(say("no_job"));
  const record = await get(`/jobs/${encodeURIComponent(id)}/record`);
  const at = asked.get("position") ?? "";
  $("title").textContent = `${say("job")} ${record.job.number}: ${record.job.plan_title}`;
  $("verdict").replaceChildren(named("decision", record.verdict));
  $("to_job").href = about("job", { job: id });
  drawHead($("map"), record.decisions, at);
  const positions = Map.groupBy(record.decisions, (each) => each.position);
  $("positions").replaceChildren(...[...positions].map(([position, parts]) => card(id, position, parts, at)));
  if (!positions.has(at)) return;
  $("one_title").textContent = positionText(at);
  const { characteristics } = await get("/characteristics");
  const parts = new Map(characteristics.map((each) => [each.name, each.part]));
  $("one_parts").replaceChildren(...(inInches ? [element("p", "soft", say("in_mm"))] : []), ...positionParts(record, at, parts));
  $("one").hidden = false;
  $("one").scrollIntoView();
});

function card(id, position, parts, at) {
  const made = link("", about("head", { job: id, position }));
  made.append(
    element("b", "", positionText(position)),
    ...parts.map(({ part, decision }) => element("span", "", `${named("part", part)} `, sign(decision))),
  );
  if (position === at) made.setAttribute("aria-current", "true");
  return made;
}
