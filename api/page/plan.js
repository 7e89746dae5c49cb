// A plan: chosen, changed and kept. What is wrong is said where it stands, in the bench's sentences.
import { get, postFor } from "./ask.js";
import { bound, faultShown, standsAt } from "./bound.js";
import { element } from "./marks.js";
import { stepShown } from "./plan_step.js";
import { $, about, begin, link, orSay } from "./sheet.js";
import { named, say } from "./words.js";

const UNITS = ["mm", "in"];
const BANKS = ["left", "right"];

let plan = null; // as it is on the page; what is typed goes into it
let catalogue = new Map();

begin(async (from) => {
  const [{ plans }, { characteristics }] = await Promise.all([get("/plans"), get("/characteristics")]);
  catalogue = new Map(characteristics.map((each) => [each.name, each]));
  $("plan").append(...plans.map((each) => new Option(`${each.name}: ${each.title}`, each.name)));
  const wished = from.get("plan");
  if (plans.some((each) => each.name === wished)) $("plan").value = wished;
  const choose = () => show(plans.find((each) => each.name === $("plan").value));
  $("plan").onchange = choose;
  $("add_step").onclick = () => {
    plan.steps.push({ characteristic: $("more").value });
    showSteps();
    $("steps").lastElementChild.scrollIntoView();
  };
  $("keep").onclick = () => orSay(keep);
  choose();
});

function show(chosen) {
  plan = structuredClone(chosen);
  $("kept").replaceChildren();
  showAbout();
  showSteps();
}

function showAbout() {
  $("about").replaceChildren(
    bound(plan, "name", say("plan_name")),
    bound(plan, "title", say("plan_title")),
    bound(plan, "source", say("plan_source")),
    bound(plan, "unit", say("plan_unit"), { options: UNITS }),
    bound(plan, "material", say("material")),
    standsAt(plan, "head", headShown(plan.head)),
  );
}

// Its cylinders and valves, which of two banks it is of, and what its cylinders are called.
function headShown(head) {
  const banks = [{ value: "", text: say("no_bank") }, ...BANKS.map((value) => ({ value, text: named("bank_of", value) }))];
  return element(
    "fieldset", "step",
    element("legend", "", say("head")),
    ...["cylinders", "intake", "exhaust"].map((key) => bound(head, key, say(key), { number: true })),
    bound(head, "bank", say("bank"), { options: banks }),
    bound(head, "numbers", say("numbers"), { list: true }),
  );
}

function showSteps() {
  const change = (work) => () => {
    work(plan.steps);
    showSteps();
  };
  $("steps").replaceChildren(
    ...plan.steps.map((step, at) => standsAt(plan.steps, at, stepShown(step, catalogue.get(step.characteristic), {
      redraw: () => showSteps(),
      remove: change((steps) => steps.splice(at, 1)),
      earlier: at > 0 && change((steps) => steps.splice(at - 1, 0, ...steps.splice(at, 1))),
    }))),
  );
  const here = new Set(plan.steps.map((each) => each.characteristic));
  const left = [...catalogue.keys()].filter((name) => !here.has(name));
  $("more").replaceChildren(...left.map((name) => new Option(named("characteristic", name), name)));
  $("add_step").disabled = !left.length;
}

async function keep() {
  const found = await postFor("/plans", plan);
  $("kept").replaceChildren(...(found.ok ? [say("plan_kept"), " ", link(say("start_with"), about("start", { plan: plan.name }))] : []));
  showAbout();
  showSteps();
  const errors = found.errors ?? [];
  const above = errors.filter((each) => !faultShown(plan, each));
  document.querySelector(".wrong")?.scrollIntoView({ block: "center" });
  if (!found.ok) throw new Error(said(found.fault, above, errors.length - above.length));
}

// What has a place on the page is said there; the rest, and what the bench asks about, up here.
function said(fault, above, n) {
  return n ? [...above.map((each) => each.text), say("wrong_here", { n })].join(" ") : fault;
}
