// A job is opened: its number from the keyboard or a barcode reader, its plan, what is said of it.
import { get } from "./ask.js";
import { formFor } from "./form.js";
import { element } from "./marks.js";
import { $, about, begin, link, orSay, table } from "./sheet.js";
import { limitUnitText, named, placeText, say } from "./words.js";

const LAST_PLAN = "plan"; // most jobs of a week are of the same head
const SIDES = { I: "side_intake", E: "side_exhaust" };
const BANKS = ["left", "right"];
const TEXTS = ["customer", "complaint", "head_serial", "missing", "cylinder_one", "person"];

let unitOf = new Map(); // by characteristic

begin(async (from) => {
  const [{ plans }, { characteristics }] = await Promise.all([get("/plans"), get("/characteristics")]);
  unitOf = new Map(characteristics.map((each) => [each.name, each.unit]));
  const wished = from.get("plan") ?? localStorage.getItem(LAST_PLAN);
  const chosen = plans.find((each) => each.name === wished);
  // No plan is taken for a head only because it is the first of the list.
  const none = chosen ? [] : [{ value: "", text: say("choose_plan") }];
  const options = [...none, ...plans.map((each) => ({ value: each.name, text: `${each.name}: ${each.title}` }))];
  const form = formFor({
    path: "/jobs",
    send: say("open_job"),
    fields: [
      { name: "number", required: true, value: from.get("number") ?? "" },
      { name: "plan", options, value: chosen?.name, required: true },
      { name: "bank", options: [{ value: "", text: say("no_bank") }, ...BANKS.map((value) => ({ value, text: named("bank_of", value) }))] },
      ...TEXTS.map((name) => ({ name, lines: name === "complaint" ? 3 : 1 })),
    ],
    then: ({ id, plan }) => {
      localStorage.setItem(LAST_PLAN, plan);
      return opened(id);
    },
  });
  $("start").replaceChildren(form);
  const [number, plan] = form.querySelectorAll("[name=number], [name=plan]");
  number.onkeydown = (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault(); // a reader ends by Enter: the number is in, the rest is not yet
    orSay(() => look(number.value.trim(), plan));
  };
  plan.onchange = () => orSay(() => showPlan(plans.find((each) => each.name === plan.value)));
  await showPlan(chosen);
  number.focus();
  if (number.value) await look(number.value, plan); // it was read at the bench
});

// A number that was opened before leads to its job; another goes on to the plan.
async function look(number, plan) {
  if (!number) return;
  const { jobs } = await get(`/jobs?${new URLSearchParams({ number })}`);
  $("there").replaceChildren(...jobs.flatMap(({ id }) => [say("there_already", { number }), " ", link(say("to_job"), about("job", { job: id }))]));
  if (!jobs.length) plan.focus();
}

// It is on the bench if nothing else was; else its own page puts it up.
async function opened(id) {
  const { job } = await get("/bench");
  location.assign(job === id ? "./" : about("job", { job: id }));
}

let asked = 0; // the plan that was chosen last is the one that is shown

async function showPlan(plan) {
  const mine = (asked += 1);
  $("to_plan").hidden = !plan;
  $("chosen").replaceChildren();
  if (!plan) return;
  $("to_plan").href = about("plan", { plan: plan.name });
  const held = await get(`/plans/${encodeURIComponent(plan.name)}/limits`);
  if (mine !== asked) return;
  const rows = plan.steps.map((step) => [named("characteristic", step.characteristic), lines(limits(step, held))]);
  $("chosen").replaceChildren(
    element("p", "", element("b", "", plan.title)),
    element("p", "soft", plan.source),
    table(plan.title, [named("column", "what"), named("column", "limit")], rows),
  );
}

// The plan's own, each with what it is for; where it gives none, the guide values that hold instead.
function limits(step, held) {
  const unit = unitOf.get(step.characteristic);
  const given = Object.entries(step).filter(([key, value]) => key.startsWith("limit") && value);
  const own = given.map(([key, limit]) => [key === "limit" ? "" : named("limit_key", key), limit]);
  const instead = held.filter((each) => each.characteristic === step.characteristic);
  const all = own.length ? own : instead.map(({ side, place, limit }) => [[side && say(SIDES[side]), placeText(place)].filter(Boolean).join(", "), limit]);
  if (unit === "1" && all.length) return [named("limit_kind", "look")];
  return all.map(([what, limit]) => `${what ? `${what}: ` : ""}${limitUnitText({ limits: limit, unit })} (${named("limit_kind", limit.kind)})`);
}

const lines = (all) => element("span", "", ...(all.length ? all : [say("no_limit_here")]).map((each) => element("span", "line", each)));
