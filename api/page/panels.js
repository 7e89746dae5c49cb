// Which panel stands in the middle: the live number, the pad, the look, or a question of the bench.
import { facts, isByHand } from "./bench_facts.js";
import { beginHand, wireHand } from "./hand.js";
import { limitOf, showLimit } from "./limit.js";
import { beginLook, wireLook } from "./look.js";
import { question } from "./question.js";
import { inWords, say } from "./words.js";

const $ = (id) => document.getElementById(id);
let up = ""; // what the panels are set up for
let known = null;
let wished = null; // the person's own choice of pad (true) or gauge (false), for what is up

export function wirePanels() {
  wireHand();
  wireLook();
}

// Gives which panel is shown: "look", "hand", "doubt" or "live". acts: {again, keep}, for a question.
export function showPanels(bench, gauges, person, acts) {
  const key = JSON.stringify([bench.job, bench.target]);
  if (up !== key) begin(key, bench, person);
  showLimit($("limit"), bench);
  const which = panelFor(bench, gauges);
  for (const id of ["look", "hand", "doubt", "live"]) if ($(id).hidden !== (id !== which)) show(id, id === which);
  if (which === "doubt" && $("doubt").dataset.words !== bench.message) {
    $("doubt").dataset.words = bench.message;
    $("doubt").replaceChildren(question(inWords(bench.message), [
      { id: "doubt_again", text: say("again"), act: acts.again },
      { id: "doubt_keep", text: say("press_keep"), act: acts.keep },
    ]));
  }
  const home = which === "look" ? "look_cautions" : "caution_place";
  if ($("cautions").parentElement.id !== home) $(home).append($("cautions"));
  return which;
}

export function togglePad() {
  wished = $("hand").hidden;
}

function panelFor(bench, gauges) {
  if (bench.asks) return "doubt";
  if (!bench.target) return "live";
  if (bench.kind === "look") return "look";
  if (!known) return "live";
  if (wished !== null) return wished ? "hand" : "live";
  const free = bench.phase === "capturing" && !(bench.capture?.share > 0);
  return free && isByHand(known, bench.target.characteristic, bench.kind, gauges) ? "hand" : "live";
}

function show(id, yes) {
  $(id).hidden = !yes;
  if (yes && id === "hand" && !document.querySelector("dialog[open]")) $(id).focus({ preventScroll: true });
}

async function begin(key, bench, person) {
  up = key;
  known = wished = null;
  if (!bench.target) return;
  const next = { job: bench.job, target: bench.target, person };
  if (bench.kind === "look") beginLook(next, bench.where);
  const [found, limit] = await Promise.all([facts(), limitOf(bench.job, bench.target, bench.kind)]);
  if (up !== key) return;
  if (!found) {
    up = ""; // the next frame asks again
    return;
  }
  if (bench.kind === "look") $("hold").textContent = limit?.reason ?? "";
  else beginHand(next, found, limit?.inches ?? false);
  known = found;
}
