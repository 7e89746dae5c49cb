// Any of all the jobs: by the beginnings of words of its number, its customer, its head or its plan.
import { get } from "./ask.js";
import { $, about, begin, link, orSay, table } from "./sheet.js";
import { named, say, when } from "./words.js";

const TYPED_MS = 120; // between two letters nobody waits for an answer
const STATES = ["any", "open", "closed"];
const AT_ONCE = 50;

let asked = 0; // only the answer to what was asked last is shown
let shown = [];
let typing = 0;

begin(async (from) => {
  $("state").append(...STATES.map((each) => new Option(named("job_state", each), each)));
  $("find").value = from.get("find") ?? "";
  $("state").value = STATES.includes(from.get("state")) ? from.get("state") : "any";
  $("find").oninput = () => {
    clearTimeout(typing);
    typing = setTimeout(() => orSay(find), TYPED_MS);
  };
  $("state").onchange = () => orSay(find);
  $("asking").onsubmit = (event) => {
    event.preventDefault();
    orSay(openTheOne);
  };
  await find();
});

function question(before) {
  const state = $("state").value;
  const said = { find: $("find").value, ...(state !== "any" && { state }), limit: AT_ONCE, ...(before && { before }) };
  return `/jobs?${new URLSearchParams(said)}`;
}

async function find() {
  shown = [];
  await more();
}

async function more(before = null) {
  const mine = (asked += 1);
  const { jobs, next } = await get(question(before));
  if (mine !== asked) return;
  shown = [...shown, ...jobs];
  $("said").textContent = say(shown.length ? (next ? "found_first" : "found_all") : "found_none", { n: shown.length });
  $("found").replaceChildren(shown.length ? listed() : "");
  $("older").hidden = next === null;
  $("older").onclick = () => orSay(() => more(next));
}

function listed() {
  const heads = ["number", "customer", "plan", "opened", "job_state"].map((each) => named("column", each));
  return table(say("jobs"), heads, shown.map(row));
}

function row({ id, number, customer, plan, opened_at, signed_at }) {
  const state = signed_at ? `${named("job_state", "closed")}, ${when(signed_at)}` : named("job_state", "open");
  return [link(number, about("job", { job: id })), customer ?? "", plan, when(opened_at), state];
}

// A reader types a number and ends by Enter: the one that is found, or has that number, opens.
async function openTheOne() {
  clearTimeout(typing);
  const number = $("find").value.trim();
  if (!number) return;
  const { jobs } = await get(`/jobs?${new URLSearchParams({ number })}`);
  if (!jobs.length) await find();
  const [one, other] = jobs.length ? jobs : shown;
  if (one && !other) location.assign(about("job", { job: one.id }));
}
