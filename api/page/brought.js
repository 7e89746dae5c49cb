// What a file says, shown before it counts: the good rows, the bad ones with why, a certificate.
import { badge, element } from "./marks.js";
import { table } from "./sheet.js";
import { inWords, limitUnitText, named, say, targetText } from "./words.js";

// Gives {shown: elements, canKeep}. unitOf: by characteristic; onRight: told the lines somebody says
// are right.
export function brought(answer, unitOf, onRight) {
  if (answer.certificate) return certificateShown(answer);
  if (answer.plan) return planShown(answer, unitOf);
  return rowsShown(answer, onRight);
}

// Of a row that is bad the code stays as it is: that is what stands in the file.
function badRows(bad) {
  if (!bad.length) return [];
  const rows = bad.map(({ line, text }) => [String(line), text]);
  return [element("h3", "bad", say("bad_rows", { n: bad.length })), table(say("bad_rows", { n: bad.length }), columns(["line", "why"]), rows)];
}

const columns = (names) => names.map((each) => named("column", each));

function rowsShown({ rows, bad, kept }, onRight) {
  const right = new Set();
  const tick = (line, yes) => {
    yes ? right.add(line) : right.delete(line);
    onRight([...right]);
  };
  const odd = rows.filter((each) => each.checked.question).length;
  const done = kept > 0 || rows.some((each) => each.measurement_id);
  const shown = rows.map(({ line, checked, measurement_id }) => [
    String(line),
    targetText({ ...checked, place: null }),
    checked.shown,
    badge(checked),
    checked.limits ? limitUnitText(checked) : "",
    measurement_id ? say("was_kept") : checked.question ? asked(line, inWords(checked.question), tick) : checked.warnings.map(inWords).join(" "),
  ]);
  const title = say(done ? "rows_kept" : "good_rows", { n: done ? kept : rows.length - odd });
  return {
    shown: [
      element("h3", "", title),
      ...(odd && !done ? [element("p", "note", say("asked_rows", { n: odd }))] : []),
      ...(rows.length ? [table(title, columns(["line", "what", "value", "status", "limit", "about"]), shown)] : []),
      ...badRows(bad),
    ],
    canKeep: rows.length > 0,
  };
}

// An unlikely value is kept only when somebody has looked at it.
function asked(line, question, tick) {
  const box = document.createElement("input");
  box.type = "checkbox";
  box.onchange = () => tick(line, box.checked);
  return element("label", "", box, ` ${say("it_is_right")}`, element("small", "", ` ${question}`));
}

function planShown({ plan, taken, bad, kept }, unitOf) {
  const rows = plan.steps.map((step) => {
    const limits = Object.entries(step).filter(([key, value]) => key.startsWith("limit") && value);
    const unit = unitOf.get(step.characteristic);
    const said = limits.map(([key, limit]) => `${named("limit_key", key)}: ${limitUnitText({ limits: limit, unit })} (${limit.source})`);
    return [named("characteristic", step.characteristic), said.join("; ")];
  });
  const title = say(kept ? "rows_kept" : "good_rows", { n: taken });
  return {
    shown: [element("h3", "", `${title} ${plan.name}: ${plan.title}`), table(plan.title, columns(["what", "limit"]), rows), ...badRows(bad)],
    canKeep: taken > 0,
  };
}

function certificateShown({ certificate, error_limit_mm, doubts, kept, counts_from }) {
  const facts = ["certificate", "serial", "gauge", "laboratory", "calibrated_on"].map((key) => [named("dcc", key), certificate[key]]);
  facts.push([named("dcc", "error_limit"), error_limit_mm === null ? null : `${error_limit_mm} mm`]);
  const points = certificate.points.map((each) => [`${each.reference_mm} mm`, `${each.error_mm} mm`, each.expanded_mm === null ? "" : `${each.expanded_mm} mm, k = ${each.k}`]);
  return {
    shown: [
      ...(kept ? [element("p", "note", say("calibration_kept", { when: counts_from }))] : []),
      element("dl", "", ...facts.filter(([, value]) => value).flatMap(([name, value]) => [element("dt", "", name), element("dd", "", value)])),
      ...(points.length ? [table(named("dcc", "certificate"), columns(["reference", "error", "doubt"]), points)] : []),
      ...doubts.map((each) => element("p", "bad", each)),
    ],
    canKeep: true,
  };
}
