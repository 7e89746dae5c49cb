// The head from its deck: one pair of valves a cylinder, each marked with what is decided of it.
import { element, shapeOf, sign, svg } from "./marks.js";
import { named, say } from "./words.js";

const DECISIONS = ["accept", "rework", "replace", "unsure", "not measured"];
// The worst decision of the parts at a position stands for it.
const WORST = ["replace", "rework", "unsure", "not measured", "accept"];
const PARTS = ["valve", "guide", "seat", "spring", "assembly"];
const CYLINDER = 76;
const HEAD = "head";

export function drawHead(into, decisions, up) {
  const found = new Map();
  for (const { position, decision } of decisions) {
    if (position === HEAD) continue; // it has no valve; it stands in the table
    const before = found.get(position);
    const worse = !before || WORST.indexOf(decision) < WORST.indexOf(before);
    found.set(position, worse ? decision : before);
  }
  if (!found.size) {
    into.replaceChildren();
    return;
  }
  const cylinders = Map.groupBy([...found.keys()], (position) => position.match(/^\d+/)[0]);
  const rows = Math.max(...[...cylinders.values()].map((each) => each.length));
  const width = cylinders.size * CYLINDER;
  const height = rows * 38 + 22;
  const picture = svg("svg", { viewBox: `0 0 ${width} ${height}`, role: "img" });
  const said = [];
  let column = 0;
  for (const [, positions] of cylinders) {
    const x = column * CYLINDER;
    picture.append(
      svg("rect", {
        x: x + 3, y: 3, width: CYLINDER - 6, height: height - 6, rx: 30,
        class: "bore",
      }),
    );
    positions.forEach((position, row) => {
      said.push(`${position}: ${named("decision", found.get(position))}`);
      picture.append(valve(position, found.get(position), x + CYLINDER / 2, 30 + row * 38, position === up));
    });
    column += 1;
  }
  picture.prepend(svg("title", {}, said.join(", ")));
  into.replaceChildren(picture, partsTable(decisions, [...found.keys()]), legend());
}

// Every part by itself: a row a position, a column a part that the plan asks about.
function partsTable(decisions, positions) {
  const at = new Map(decisions.map((each) => [`${each.position} ${each.part}`, each.decision]));
  const parts = PARTS.filter((part) => decisions.some((each) => each.part === part));
  const cell = (position, part) => {
    const decision = at.get(`${position} ${part}`);
    return element("td", "", ...(decision ? [sign(decision, false)] : []));
  };
  const whole = at.get(`${HEAD} ${HEAD}`);
  return element(
    "div", "parts",
    ...(whole ? [element("p", "", `${named("part", HEAD)}: `, sign(whole))] : []),
    element(
      "table", "",
      element("tr", "", element("td", "", ""), ...parts.map((part) => element("th", "", named("part", part)))),
      ...positions.map((position) => element("tr", "", element("th", "", position), ...parts.map((part) => cell(position, part)))),
    ),
  );
}

function legend() {
  const line = element("p", "legend");
  line.append(...DECISIONS.map((each) => sign(each)));
  line.setAttribute("aria-label", say("legend"));
  return line;
}

function valve(position, decision, x, y, isUp) {
  const disc = svg("circle", { class: "disc", cx: x, cy: y, r: position.includes("I") ? 17 : 15 });
  const text = svg(
    "text",
    {
      x, y: y + 1, "text-anchor": "middle", "font-size": 11.5, "font-weight": 700,
    },
    position,
  );
  const shape = shapeOf(decision, { transform: `translate(${x - 4} ${y + 3.5}) scale(.5)` });
  const all = `on-head ${decision.replace(" ", "-")}${isUp ? " is-up" : ""}`;
  return svg("g", { "data-position": position, class: all }, disc, text, shape);
}
