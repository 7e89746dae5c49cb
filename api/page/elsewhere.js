// A gauge that types while another page than the bench's is in front: its number goes to the bench
// all the same, and the page says so, because what the bench makes of it is not to be seen here.
import { get } from "./ask.js";
import { notify } from "./notice.js";
import { findTyping, wireTyped } from "./typed.js";
import { inWords, say, targetText } from "./words.js";

export function wireElsewhere() {
  findTyping();
  wireTyped(bench, given);
}

const bench = () => get("/bench").catch(() => null);

// before: the bench when it was given the number; what it says now is its answer to it.
async function given(name, text, before) {
  const after = await bench();
  const doubted = !after || after.not_taken || after.asks;
  const said = say("typed_given", { name, text, what: targetText(before.target) });
  notify(`${said} ${inWords(after?.message ?? "")}`, doubted ? "not_kept" : "kept");
}
