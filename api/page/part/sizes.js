// Parts that have a size: where their edge stands, and where it may.
import { casting, cut, group, part, plate, spring } from "../sketch/pieces.js";
import { svg } from "../marks.js";
import { fromZero, nearLimits } from "./scale.js";
import { edges } from "./turning.js";

const HIGH = 34; // of the sheet, for the limit
const limitAt = (d) => svg("path", { class: "pt-limit", d });
const circle = (r, kind) => svg("circle", { class: kind, cx: 160, cy: 100, r });
const kindOf = (value) => (value === null ? "pt-none" : "sk-part");

// The valve against the face: deep below it, proud above.
function recess({ value, limits }) {
  const down = fromZero(limits, HIGH);
  const at = 90 + (value === null ? 0 : down(value));
  const head = "M-84 0H84V12L56 44Q16 60 12 110H-12Q-16 60 -56 44L-84 12Z";
  return [casting(160, 90, 110), group(160, at, 0, svg("path", { class: kindOf(value), d: head, transform: "scale(.52 1)" })),
    svg("path", { class: "pt-face", d: "M4 90H316" }),
    ...edges(limits, (each) => limitAt(`M104 ${90 + down(each)}H216`))];
}

// A stem from its tip in its guide: the gap round it is what is left.
function stem({ value, limits, partner }) {
  const more = nearLimits(limits, 16);
  const guide = 58 + (partner === null ? 26 : more(partner));
  return [circle(guide + 8, "sk-cut"), circle(guide, "sk-hole"), circle(58 + (value === null ? 0 : more(value)), kindOf(value)),
    ...edges(limits, (each) => circle(58 + more(each), "pt-limit"))];
}

// A bore with the stem of its valve in it, once that is known.
function bore({ value, limits, partner }) {
  const more = nearLimits(limits, 16);
  const inside = partner === null ? [] : [circle(62 + more(partner), "sk-part")];
  return [circle(96, "sk-cut"), circle(62 + (value === null ? 0 : more(value)), value === null ? "pt-none" : "sk-hole"), ...inside,
    ...edges(limits, (each) => circle(62 + more(each), "pt-limit"))];
}

// Something that stands up from what lies under it; its top is what is measured.
function standing(draw, high = HIGH) {
  return ({ value, limits }) => {
    const up = nearLimits(limits, high);
    const top = 72 - (value === null ? 0 : up(value));
    return [...draw(top, kindOf(value)), ...edges(limits, (each) => limitAt(`M66 ${72 - up(each)}H254`))];
  };
}

const block = (top, kind) => [plate(182), svg("path", { class: kind, d: `M90 ${top}H230V182H90Z` })];
const onEnd = (top, kind) => [plate(182), svg("path", { class: kind, d: `M110 ${top}H210V${top + 10}L190 ${top + 28}Q168 ${top + 36} 168 ${top + 66}V182H152V${top + 66}Q152 ${top + 36} 130 ${top + 28}L110 ${top + 10}Z` })];
const guideTop = (top, kind) => [cut("M40 150H130V196H40Z"), cut("M190 150H280V196H190Z"), ...[130, 172].map((x) => svg("path", { class: kind, d: `M${x} ${top}h18V196h-18z` }))];
const coils = (top, kind) => [plate(182), ...(kind === "pt-none" ? [svg("path", { class: kind, d: `M120 ${top}H200V182H120Z` })] : [spring(120, top, 80, 182 - top)])];
const fitted = (top, kind) => [...coils(top, kind), part(`M96 ${top - 12}h128v12H96z`)];
// A spring that pushes: the stronger, the farther up its pointer.
const pushing = (top, kind) => [plate(182), spring(120, 120, 80, 62), part("M100 108h120v12H100z"), svg("path", { class: kind, d: `M160 ${top}L182 ${top + 24}H168V108H152V${top + 24}H138Z` })];

// What counts from nothing: the hollow of a face, the rim of a head, a band, what is left between.
function hollow({ value, limits }) {
  const deep = fromZero(limits, HIGH * 2);
  const curve = (by) => `M20 90Q160 ${90 + by} 300 90`;
  return [cut(`${curve(value === null ? 0 : deep(value))}V180H20Z`), svg("path", { class: "pt-face", d: "M10 90H310" }),
    ...edges(limits, (each) => limitAt(curve(deep(each))))];
}

function rim({ value, limits }) {
  const wide = fromZero(limits, 60);
  const thick = value === null ? 0 : wide(value);
  return [part("M40 200V150Q110 140 150 40H150V200Z"), svg("path", { class: kindOf(value), d: `M150 40h${thick}V200h${-thick}z` }),
    ...edges(limits, (each) => limitAt(`M${150 + wide(each)} 20V200`))];
}

function band({ value, limits }) {
  const long = fromZero(limits, 90);
  const along = (by) => `${110 + by * 0.707} ${40 + by * 0.707}`;
  const seen = value === null ? [] : [svg("path", { class: "pt-band", d: `M110 40L${along(long(value))}` })];
  return [cut("M20 20H90L240 170V196H20Z"), ...seen,
    ...edges(limits, (each) => group(110 + long(each) * 0.707, 40 + long(each) * 0.707, 45, limitAt("M0 -26V26")))];
}

function gap({ value, limits }) {
  const between = fromZero(limits, 44);
  const open = value === null ? 0 : between(value);
  return [part("M60 120h200v22H60z"), svg("path", { class: kindOf(value), d: `M60 ${120 - open}h200v-22H60z` }),
    ...edges(limits, (each) => limitAt(`M40 ${120 - between(each)}H280`))];
}

// What gets past a valve on its seat.
function leak({ value, limits }) {
  const wide = fromZero(limits, 26);
  const lifted = value === null ? 0 : wide(value);
  const head = (by, kind) => svg("path", { class: kind, d: `M112 ${54 - by}H208V${66 - by}L180 ${96 - by}Q168 ${106 - by} 167 200H153Q152 ${106 - by} 140 ${96 - by}L112 ${66 - by}Z` });
  return [cut("M20 66H112L140 96V160H20Z"), cut("M300 66H208L180 96V160H300Z"), head(lifted, kindOf(value)),
    ...edges(limits, (each) => limitAt(`M96 ${54 - wide(each)}H224`))];
}

export const SIZES = {
  "valve.recess": recess, "valve.stem_diameter": stem, "guide.diameter": bore, "head.flatness": hollow,
  "head.height": standing(block), "valve.length": standing(onEnd), "guide.protrusion": standing(guideTop),
  "spring.free_length": standing(coils), "spring.fitted_height": standing(fitted), "spring.load": standing(pushing, 16),
  "valve.margin": rim, "seat.width": band, "spring.coil_gap": gap, "seat.leak": leak,
};
