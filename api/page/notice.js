// One sentence about something that just happened and that nobody could have been looking at.
import { element } from "./marks.js";
import { sound } from "./sounds.js";
import { say } from "./words.js";

const place = () => document.getElementById("notice");

// It stays until it is read: pressed away, or something is kept. heard: the sound that goes with it;
// more: what stands behind the sentence.
export function notify(sentence, heard, ...more) {
  sound(heard);
  const away = element("button", "", say("read"));
  away.type = "button";
  away.onclick = clearNotice;
  place().replaceChildren(element("p", "", sentence, ...more), away);
}

export function clearNotice() {
  place().replaceChildren();
}
