// One step of a plan as it is changed: its places, its figures, its limits and whose they are.
import { act, bound, standsAt } from "./bound.js";
import { element } from "./marks.js";
import { named, say } from "./words.js";

const KEYS = ["limit", "limit_intake", "limit_exhaust", "limit_new", "limit_new_intake", "limit_new_exhaust"];
const AT_PLACE = ["limit", "limit_new"];
const KINDS = ["maker", "guide", "shop"];
const WAYS = [[], ["along"], ["across"], ["along", "across"]];

// about: what the catalogue says; acts: {redraw, remove, earlier or false}.
export function stepShown(step, about, acts) {
  const name = named("characteristic", step.characteristic);
  const made = element(
    "fieldset", "step",
    element("legend", "", name),
    element("p", "soft", about?.where ?? ""),
    element("div", "row", ...figures(step, about)),
    ...(step.at ?? []).map((place, at) => placeShown(step, place, at, about, acts)),
    ...limitsOf(step, KEYS, name, about, acts),
    element(
      "div", "row",
      ...(hasSpots(about) ? [act(say("add_place"), name, () => addPlace(step, about, acts))] : []),
      act(say("earlier"), name, acts.earlier || null, !acts.earlier),
      act(say("remove"), name, acts.remove),
    ),
  );
  return made;
}

const hasSpots = (about) => ["spots", "lengths"].includes(about?.places);

function figures(step, about) {
  const of = (key, more) => bound(step, key, say(key), more);
  const length = about?.unit === "mm";
  return [
    ...(about?.places === "depths and directions" ? [of("depths_mm", { list: true }), ways(step)] : []),
    ...(length ? [of("nominal_mm"), of("window_mm"), of("material")] : []),
    ...(step.characteristic === "seat.leak" ? [of("volume_l")] : []),
    ...(about?.capture === "look" ? [of("hold_s")] : []),
  ];
}

function ways(step) {
  const word = (all) => all.map((each) => named("direction", each)).join(", ") || say("no_reading");
  const chosen = { is: (step.directions ?? []).join(" ") };
  const options = WAYS.map((all) => ({ value: all.join(" "), text: word(all) }));
  const done = () => (step.directions = chosen.is ? chosen.is.split(" ") : []);
  return standsAt(step, "directions", bound(chosen, "is", say("directions"), { options, done }));
}

function addPlace(step, about, acts) {
  step.at = [...(step.at ?? []), about.places === "lengths" ? { length_mm: "" } : { spot: "" }];
  acts.redraw();
}

function placeShown(step, place, at, about, acts) {
  const key = "length_mm" in place && place.length_mm !== null ? "length_mm" : "spot";
  const remove = () => {
    step.at.splice(at, 1);
    acts.redraw();
  };
  return standsAt(step.at, at, element(
    "div", "place",
    element("div", "row", bound(place, key, say(key)), act(say("remove"), place[key], remove)),
    ...limitsOf(place, AT_PLACE, place[key], about, acts),
  ));
}

function limitsOf(holder, keys, name, about, acts) {
  if (about?.capture === "look") return [];
  const free = keys.filter((key) => !holder[key]);
  const add = document.createElement("select");
  add.setAttribute("aria-label", `${say("add_limit")}: ${name}`);
  add.append(new Option(say("add_limit"), ""), ...free.map((key) => new Option(named("limit_key", key), key)));
  add.onchange = () => {
    holder[add.value] = { kind: "maker", source: "" };
    acts.redraw();
  };
  return [...keys.filter((key) => holder[key]).map((key) => limitShown(holder, key, about, acts)), ...(free.length ? [add] : [])];
}

function limitShown(holder, key, about, acts) {
  const inUnit = (end) => [say(end), about?.unit].filter(Boolean).join(", ");
  const limit = holder[key];
  const kinds = KINDS.map((value) => ({ value, text: named("limit_kind", value) }));
  const remove = () => {
    delete holder[key];
    acts.redraw();
  };
  return standsAt(holder, key, element(
    "div", "limit",
    element("b", "", named("limit_key", key)),
    element(
      "div", "row",
      bound(limit, "lower", inUnit("lower")),
      bound(limit, "upper", inUnit("upper")),
      bound(limit, "kind", say("limit_of"), { options: kinds }),
      bound(limit, "source", say("limit_source")),
      bound(limit, "acknowledged_by", say("acknowledged_by")),
      act(say("remove"), named("limit_key", key), remove),
    ),
  ));
}
