// The list of work: what has to be done to the head, then what is unsure, then what nobody measured.
import { inInches } from "./length.js";
import { element, sign } from "./marks.js";
import { inWords, named, partText, positionText, say } from "./words.js";

export function showWork(into, work) {
  const items = work?.items ?? [];
  const doing = items.filter((each) => each.kind !== "measure");
  const open = items.length - doing.length;
  // The same has to be done in many places: it is said once, with the places.
  const rows = [...Map.groupBy(doing, ({ decision, text }) => `${decision} ${text}`).values()].map(row);
  if (open) rows.push(element("li", "", sign("not measured"), ` ${say("work_open", { n: open })}`));
  if (!rows.length) rows.push(element("li", "", say(work ? "work_none" : "no_job")));
  for (const each of work?.notes ?? []) rows.push(element("li", "note", inWords(each)));
  if (work?.offer) rows.push(element("li", "note", `${say("offer")}: ${inWords(work.offer)}`));
  if (inInches && doing.length) rows.push(element("li", "about", say("in_mm")));
  into.replaceChildren(...rows);
}

function row(items) {
  const [{ decision, text }] = items;
  const reasons = items.flatMap((each) => each.reasons.map((why) => [each, inWords(why)]));
  const which = (each) => (items.length > 1 ? `${partText(each.position, each.part)}: ` : "");
  const made = element(
    "details", "",
    element("summary", "", sign(decision), element("b", "", ` ${placesOf(items)}: `), inWords(text)),
    ...reasons.map(([each, why]) => element("p", "about", `${which(each)}${why}`)),
  );
  return element("li", "", made);
}

// Each part once, with the positions of it: "1I, 1E valve; 2E guide".
function placesOf(items) {
  const parts = Map.groupBy(items, (each) => each.part);
  return [...parts].map(([part, some]) => {
    const where = [...new Set(some.map((each) => each.position))];
    return where.includes(part) ? positionText(part) : `${where.join(", ")} ${named("part", part)}`;
  }).join("; ");
}
