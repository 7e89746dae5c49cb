// What is wrong: loud where it stops what is being done, by the gauge's name where it does not.
import { shownNumber, shownUnit } from "./length.js";
import { element } from "./marks.js";
import { named, say } from "./words.js";

// The gauges that what is up cannot be measured without: [{name, trouble}]. Where any of several
// may do, none is missed as long as one of them speaks.
export function missed({ bench, gauges }) {
  const needed = gauges.filter((each) => each.needed);
  const inTrouble = needed.filter((each) => each.trouble);
  return bench.gauge || inTrouble.length === needed.length ? inTrouble : [];
}

// alive: whether the bench is heard. Gives lines of [sentence, what is read from two metres].
export function troublesOf(frame, alive) {
  if (!frame) return [[say("connecting"), ""]];
  if (!alive) return [[say("dead"), say("dead_short")]];
  const lines = missed(frame).map((each) => [each.trouble, `${each.name}: ${named("state", each.state)}`]);
  if (frame.trouble) lines.unshift([frame.trouble, say("stopped_short")]);
  if (!frame.running) lines.unshift([say("stopped"), say("stopped_short")]);
  return lines;
}

export function troubleLine([sentence, short]) {
  return element("p", "", ...(short ? [element("b", "loud", short), " "] : []), sentence);
}

export function gaugeLine(gauge) {
  const quiet = gauge.state === "speaking" ? "" : ` (${named("state", gauge.state)})`;
  const value = gauge.value === null ? say("no_reading") : `${shownNumber(gauge.value, gauge.unit)} ${shownUnit(gauge.unit)}`;
  const about = [gauge.trouble, gauge.note].filter(Boolean).map((each) => element("small", "", each));
  return element("li", "", `${gauge.name}${quiet}`, element("b", "", ` ${value}`), ...about);
}
