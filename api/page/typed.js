// What a gauge typed like a keyboard goes to the bench, as if the gauge had a port of its own.
import { get, post } from "./ask.js";
import { catchBursts } from "./burst.js";
import { element } from "./marks.js";
import { clearNotice, notify } from "./notice.js";
import { say } from "./words.js";

let typing = null; // the gauges of this bench that type: {name, serial}; null until it said so
let sending = Promise.resolve(); // one after the other, in the order they were typed

// now(): the bench, or null where it is not known; given(name, text, bench): it has the number.
export function wireTyped(now, given = () => {}) {
  const anyTypes = () => typing === null || typing.length > 0;
  catchBursts((text) => (sending = sending.then(async () => take(text, await now(), given))), anyTypes);
}

// Asked for again whenever the bench comes back: its config may be another one.
export async function findTyping() {
  try {
    typing = (await get("/gauges")).gauges.filter((each) => each.port.startsWith("keys:"));
  } catch {
    // The bench went away again; it will be asked when it is back.
  }
}

const tellNotTaken = (sentence) => notify(sentence, "not_kept");

async function take(text, bench, given) {
  clearNotice();
  const shown = text.trim();
  if (typing === null) await findTyping();
  if (typing === null) return tellNotTaken(`${say("typed_lost", { text: shown })} ${say("unreachable")}`);
  if (!typing.length) return notify(say("typed_none", { text: shown }), "not_kept", " ", asJob(shown));
  if (!/[\n\t]$/.test(text)) return tellNotTaken(say("typed_no_end", { text: shown }));
  const mine = typing.length === 1 ? typing[0] : typing.find((each) => each.name === bench?.gauge);
  const names = typing.map((each) => each.name).join(", ");
  if (!mine) return tellNotTaken(say("typed_whose", { text: shown, names }));
  const why = await send(mine, text, bench);
  return why ? tellNotTaken(`${say("typed_not_taken", { name: mine.name, text: shown })} ${why}`) : given(mine.name, shown, bench);
}

// A barcode reader types, too: what it read may be the number of a job.
function asJob(number) {
  const made = element("a", "", say("typed_job", { number }));
  made.href = `start.html?${new URLSearchParams({ number })}`;
  return made;
}

function whyNotKept(bench) {
  if (!bench) return "connecting";
  if (bench.phase === "not-kept") return "typed_question";
  return bench.target && bench.kind !== "look" ? "" : "typed_nothing_up";
}

// Gives "" or why it was not kept.
async function send(gauge, text, bench) {
  const why = whyNotKept(bench);
  const fault = await post(`/gauges/${encodeURIComponent(gauge.serial || gauge.name)}/typed`, { text });
  return fault || (why && say(why));
}
