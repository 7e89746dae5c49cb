// What sorting the valves to other guides would save: an offer, never done by the tool.
import { element } from "./marks.js";
import { table } from "./sheet.js";
import { inWords, named, say } from "./words.js";

export function offerShown({ saves, parts_as_found, parts_sorted, moves, as_found, sorted_, kept_out, text }) {
  const counts = say("offer_counts", { found: parts_as_found, sorted: parts_sorted, moves });
  return [
    element("p", saves > 0 ? "note" : "", inWords(text)),
    ...(saves > 0 ? [element("p", "soft", counts), pairs(as_found, sorted_)] : []),
    element("ul", "plain", ...Object.entries(kept_out).map(([position, why]) => element("li", "soft", `${position}: ${inWords(why)}`))),
  ];
}

function pairs(as_found, sorted) {
  const now = new Map(as_found.map((each) => [each.guide, each]));
  const heads = ["guide", "now", "sorted"].map((each) => named("column", each));
  return table(say("offer_title"), heads, sorted.map((each) => [each.guide, pair(now.get(each.guide)), pair(each)]));
}

function pair({ valve, clearance_max_mm, clearance_min_mm, fits }) {
  return say(fits ? "pair_fits" : "pair_out", { valve, least: clearance_min_mm, most: clearance_max_mm });
}
