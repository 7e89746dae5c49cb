// The record as the page shows it: the last results, newest first.
import { shownLength } from "./length.js";
import { badge, element } from "./marks.js";
import { inWords, isOfHead, limitUnitText, named, placeText, say, valueText } from "./words.js";

const SHOWN_MAX = 7;

export function showResults(list, measurements) {
  const newest = measurements.toSorted((a, b) => (a.measured_at < b.measured_at ? 1 : -1));
  const rows = newest.slice(0, SHOWN_MAX).map(row);
  list.replaceChildren(...(rows.length ? rows : [element("li", "nothing", say("no_results"))]));
}

function row(kept) {
  const m = shownLength(kept);
  const what = named("characteristic", m.characteristic);
  const doubt = m.uncertainty === null || m.unit === "1" ? "" : `± ${m.uncertainty}`;
  const limit = m.limits && m.unit !== "1" ? limitUnitText(m) : "";
  const about = [doubt, limit, m.came === "keyed" ? say("keyed") : "", placeText(m.place), m.void_reason ?? inWords(m.reason)];
  return element(
    "li",
    m.status,
    ...(isOfHead(m.characteristic) ? [] : [element("span", "at", m.position)]), // its name says so
    element("span", "name", what),
    element("span", "value", m.unit === "1" ? "" : valueText(m)),
    element("span", "about", badge(m), ` ${about.filter(Boolean).join(" · ")}`),
  );
}
