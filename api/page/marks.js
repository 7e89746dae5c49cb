// Status as shape, word and colour together, so that no one of them has to carry it alone.
import { named, statusText } from "./words.js";

const SVG = "http://www.w3.org/2000/svg";
const SHAPES = {
  PASS: "M8 1a7 7 0 1 0 .01 0z",
  FAIL: "M1.5 1.5h13v13h-13z",
  INDETERMINATE: "M8 0l8 8-8 8-8-8z",
  NOT_ANALYZED: "M8 1a7 7 0 1 0 .01 0zM8 4a4 4 0 1 1-.01 0z",
  VOID: "M2 0l6 6 6-6 2 2-6 6 6 6-2 2-6-6-6 6-2-2 6-6-6-6z",
};

export function svg(name, attributes = {}, ...children) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

export function element(name, className, ...children) {
  const made = document.createElement(name);
  if (className) made.className = className;
  made.append(...children);
  return made;
}

// m: a measurement, or the check of one.
export function badge(m) {
  const picture = svg("svg", { viewBox: "0 0 16 16", "aria-hidden": "true" });
  picture.append(svg("path", { d: SHAPES[m.status] ?? SHAPES.VOID, fill: "currentColor", "fill-rule": "evenodd" }));
  return element("span", `badge ${m.status}`, picture, statusText(m));
}

// What is decided of a part, by shape, colour and word; a word that is not shown is still read out.
const DECIDED = { accept: "PASS", rework: "FAIL", replace: "VOID", unsure: "INDETERMINATE", "not measured": "NOT_ANALYZED" };

// Its shape alone, 16 wide and high.
export function shapeOf(decision, attributes = {}) {
  return svg("path", { d: SHAPES[DECIDED[decision]] ?? SHAPES.NOT_ANALYZED, fill: "currentColor", "fill-rule": "evenodd", ...attributes });
}

export function sign(decision, wordSeen = true) {
  const picture = svg("svg", { viewBox: "0 0 16 16", "aria-hidden": "true" }, shapeOf(decision));
  const word = element("span", wordSeen ? "" : "unseen", named("decision", decision));
  return element("span", `sign ${decision.replace(" ", "-")}`, picture, word);
}
