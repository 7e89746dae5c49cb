// The list of work: what has to be done to the head, then what is unsure, then what nobody measured.
import { element, sign } from "./marks.js";
import { inWords, named, say } from "./words.js";

export function showWork(into, work) {
  const items = work?.items ?? [];
  const doing = items.filter((each) => each.kind !== "measure");
  const open = items.length - doing.length;
  const rows = doing.map(row);
  if (open) rows.push(element("li", "", sign("not measured"), ` ${say("work_open", { n: open })}`));
  if (!rows.length) rows.push(element("li", "", say(work ? "work_none" : "no_job")));
  for (const each of work?.notes ?? []) rows.push(element("li", "note", inWords(each)));
  if (work?.offer) rows.push(element("li", "note", `${say("offer")}: ${inWords(work.offer)}`));
  into.replaceChildren(...rows);
}

function row(item) {
  const made = element(
    "details", "",
    element("summary", "", sign(item.decision), element("b", "", ` ${item.position} ${named("part", item.part)}: `), inWords(item.text)),
    ...item.reasons.map((each) => element("p", "about", inWords(each))),
  );
  return element("li", "", made);
}
