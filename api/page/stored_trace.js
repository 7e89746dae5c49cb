// The readings behind a kept value, asked for when somebody wants to see them.
import { get } from "./ask.js";
import { element, svg } from "./marks.js";
import { named, say, targetText } from "./words.js";

const WIDTH = 640;
const HEIGHT = 190;
const LEFT = 100; // room for the longest number with its unit
const EDGE = 24;

// A button that has the readings of a value drawn in a place of the page.
export function traceButton(job, m, into) {
  const made = element("button", "small", say("show"));
  made.type = "button";
  made.setAttribute("aria-label", `${say("show")}: ${targetText(m)}, ${named("column", "trace")}`);
  made.onclick = async () => into.replaceChildren(...(await drawn(job, m)));
  return made;
}

async function drawn(job, m) {
  try {
    const trace = await get(`/jobs/${encodeURIComponent(job)}/measurements/${encodeURIComponent(m.id)}/trace`);
    const many = say("trace_of", { n: trace.readings, s: trace.t_s.at(-1).toFixed(1) });
    return [element("p", "", element("b", "", targetText(m)), ` ${many}`), picture(trace, targetText(m))];
  } catch (error) {
    return [element("p", "bad", error.message)];
  }
}

function picture({ unit, t_s, value, marks }, name) {
  const low = Math.min(...value);
  const high = Math.max(...value);
  const x = (t) => LEFT + ((WIDTH - LEFT - EDGE) * t) / (t_s.at(-1) || 1);
  const y = (v) => HEIGHT - EDGE - ((HEIGHT - 2 * EDGE) * (v - low)) / (high - low || 1);
  const points = t_s.map((t, at) => `${x(t).toFixed(1)},${y(value[at]).toFixed(1)}`).join(" ");
  const words = (text, across, down, anchor) => svg("text", { x: across, y: down, "text-anchor": anchor }, text);
  return svg(
    "svg",
    { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, class: "picture", role: "img", "aria-label": `${named("column", "trace")}: ${name}` },
    ...marks.map((t) => svg("path", { d: `M${x(t)} 0V${HEIGHT - EDGE}`, stroke: "currentColor", "stroke-dasharray": "2 4" })),
    svg("polyline", { points, fill: "none", stroke: "currentColor", "stroke-width": 2 }),
    words(`${high.toFixed(4)} ${unit}`, LEFT - 6, EDGE + 4, "end"),
    words(low.toFixed(4), LEFT - 6, HEIGHT - EDGE + 4, "end"),
    words("0 s", LEFT, HEIGHT - 4, "start"),
    words(`${t_s.at(-1).toFixed(1)} s`, WIDTH - EDGE, HEIGHT - 4, "end"),
  );
}
