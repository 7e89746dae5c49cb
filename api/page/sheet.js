// What every page beside the bench has: its words, the ways to the others, one place for a fault,
// one for a notice, and an ear for a gauge that types.
import { wireElsewhere } from "./elsewhere.js";
import { wireLight } from "./light_switch.js";
import { element } from "./marks.js";
import { fillWords, named } from "./words.js";

const WAYS = { bench: "./", jobs: "jobs.html", start: "start.html", plans: "plan.html", bring: "bring.html", gauges: "gauges.html" };

export const $ = (id) => document.getElementById(id);

// work: gets what stands behind the ? of the address. What it throws is said on the page.
export async function begin(work) {
  fillWords(document);
  wireLight();
  $("ways").replaceChildren(...Object.entries(WAYS).map(way));
  $("ways").after(noticed());
  wireElsewhere();
  await orSay(() => work(new URLSearchParams(location.search)));
  document.title = [document.querySelector("h1").textContent, "benchtally"].filter(Boolean).join(" · ");
}

function noticed() {
  const made = element("div", "");
  made.id = "notice";
  made.setAttribute("role", "alert");
  return made;
}

function way([name, href]) {
  const link = element("a", "", named("way", name));
  link.href = href;
  if (new URL(href, location).pathname === location.pathname) link.setAttribute("aria-current", "page");
  return link;
}

// Do it; a fault is said, and one that was said before goes.
export async function orSay(work) {
  $("fault").textContent = "";
  try {
    await work();
  } catch (error) {
    $("fault").textContent = error.message;
  }
}

// The address of another page about a job.
export function about(page, parts) {
  return `${page}.html?${new URLSearchParams(parts)}`;
}

export function link(text, href, className = "") {
  const made = element("a", className, text);
  made.href = href;
  return made;
}

// heads: words; rows: of what stands in the cells. It scrolls by itself where it is too wide.
export function table(label, heads, rows) {
  const box = element(
    "div", "wide",
    element(
      "table", "",
      element("thead", "", element("tr", "", ...heads.map((each) => heading(each, "col")))),
      element("tbody", "", ...rows.map((cells) => row(cells, heads))),
    ),
  );
  box.tabIndex = 0;
  box.setAttribute("role", "region");
  box.setAttribute("aria-label", label);
  return box;
}

function row([first, ...rest], [, ...heads]) {
  const cells = rest.map((each, at) => {
    const made = element("td", "", ...(each ? [each] : []));
    made.dataset.head = heads[at];
    return made;
  });
  return element("tr", "", heading(first, "row"), ...cells);
}

function heading(words, scope) {
  const made = element("th", "", words);
  made.scope = scope;
  return made;
}
