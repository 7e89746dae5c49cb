// One position in full: of each part the decision and why, every measurement, its trace, its limit
// and whose it is, what the readings say together, and before and after each work.
import { shownLength, shownNumber, shownUnit } from "./length.js";
import { badge, element, sign } from "./marks.js";
import { table } from "./sheet.js";
import { traceButton } from "./stored_trace.js";
import { inWords, limitUnitText, named, partText, placeText, say, valueText, when } from "./words.js";

const columns = (names) => names.map((each) => named("column", each));

// parts: the part of each characteristic, by its name.
export function positionParts(record, position, parts) {
  const here = (each) => each.position === position;
  const measured = record.measurements.filter(here).map(shownLength);
  return [
    ...record.decisions.filter(here).flatMap((decision) => {
      const mine = measured.filter((m) => parts.get(m.characteristic) === decision.part);
      return partShown(record, decision, mine);
    }),
    ...record.reworks.filter(here).flatMap(workShown),
    ...leftOut(record.left_out.filter(here)),
  ];
}

function partShown(record, { position, part, decision, reasons }, measured) {
  const figures = record.shapes.find((each) => each.position === position && each.part === part);
  const name = partText(position, part);
  return [
    element("h3", "", `${named("part", part)}: `, sign(decision)),
    element("ul", "plain", ...reasons.map(reasonShown)),
    ...(figures ? [figuresShown(figures)] : []),
    ...(measured.length ? [measuredTable(name, record.job.id, measured)] : []),
  ];
}

function reasonShown({ verdict, text, next }) {
  const made = element("li", "", sign(verdict), ` ${inWords(text)}`);
  if (next) made.append(element("small", "", ` ${inWords(next)}`));
  return made;
}

function figuresShown({ figures, note }) {
  const said = figures.map(({ name, value, unit, uncertainty }) => `${name} ${value}${uncertainty === null ? "" : ` ± ${uncertainty}`} ${unit}`);
  return element("p", "soft", [...said, inWords(note)].filter(Boolean).join(" · "));
}

function measuredTable(label, job, measured) {
  const drawn = element("div", "");
  drawn.setAttribute("role", "status");
  const rows = measured.map((m) => [what(m), value(m), badge(m), limit(m), origin(m), about(m), m.trace_sha256 ? traceButton(job, m, drawn) : ""]);
  const made = table(label, columns(["what", "value", "status", "limit", "origin", "about", "trace"]), rows);
  made.classList.add("stacks");
  return element("div", "", made, drawn);
}

function what(m) {
  const take = m.take > 1 ? say("take", { n: m.take }) : "";
  return [named("characteristic", m.characteristic), placeText(m.place), take].filter(Boolean).join(", ");
}

function value(m) {
  const doubt = m.uncertainty === null || m.unit === "1" ? "" : ` ± ${m.uncertainty}`;
  const history = m.superseded || m.void_reason !== null;
  return element("span", history ? "figure gone" : "figure", `${valueText(m)}${doubt}`);
}

function limit(m) {
  if (!m.limits || m.unit === "1") return "";
  return element("span", "", limitUnitText(m), element("small", "", ` ${m.limit_source ?? ""}`));
}

function origin(m) {
  const gauge = [m.gauge, m.gauge_serial, m.certificate, m.reference].filter(Boolean).join(", ");
  return [named("came", m.came), gauge, m.person, when(m.measured_at)].filter(Boolean).join(" · ");
}

function about(m) {
  const history = m.superseded ? say("superseded") : "";
  return [m.void_reason, history, inWords(m.reason), m.note, ...m.warnings.map(inWords)].filter(Boolean).join(" · ");
}

function workShown({ at, part, act, what: done, person, changes, again }) {
  const rows = changes.map((each) => [
    [named("characteristic", each.characteristic), placeText(each.place)].filter(Boolean).join(", "),
    each.before === null ? say("no_reading") : inUnit(each.before, each.unit),
    each.after === null ? sign("not measured") : inUnit(each.after, each.unit),
  ]);
  const title = `${named("part", part)}: ${done}`;
  return [
    element("h3", "", title),
    element("p", "soft", [act, person, when(at)].filter(Boolean).join(" · ")),
    ...(rows.length ? [table(title, columns(["what", "before", "after"]), rows)] : []),
    ...(again.length ? [element("p", "", `${say("again_now")}: ${again.map(inWords).join("; ")}`)] : []),
  ];
}

const inUnit = (value, unit) => `${shownNumber(value, unit)} ${shownUnit(unit)}`;

function leftOut(all) {
  if (!all.length) return [];
  const rows = all.map(({ characteristic, place, reason, person }) =>
    element("li", "", [[named("characteristic", characteristic), placeText(place)].filter(Boolean).join(", "), reason, person].filter(Boolean).join(" · ")),
  );
  return [element("h3", "", say("left_out")), element("ul", "plain", ...rows)];
}
