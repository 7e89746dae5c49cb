// Keys that come too fast for a person: a gauge that types its number like a keyboard.
//
// Nothing tells such a gauge from a keyboard but its pace. So every key is looked at before anything
// else on the page sees it. Where a text field has the focus the first keys go in as usual and are
// taken out again when the rest shows that a gauge typed them; everywhere else they are held until
// it is known, and then given on as a person's keys, or to the gauge. The time of a key is the one
// the system gave it: a busy page handles keys late, but does not change how fast they came.
const FAST_MS = 45; // from one key to the next; a hand is slower, a keyboard in a gauge several times faster
const HOLD_MS = 120; // how long a key is held for one that comes late through a busy machine
const GAUGE_KEYS = 3; // so many in one burst, its Enter or Tab counted
const NO_HAND_KEYS = 5; // so many without an end are no hand either
const KEYS_MAX = 256;
const NUMBER = /^\s*[+-]?\d+[.,]\d+\s*[a-z"]{0,4}\s*$/i;
const TEXT_TYPES = new Set(["text", "search", "number", "tel", "url", "email", "password"]);

let keys = []; // of the burst that is going on: {event, held}
let field = null; // {element, value, from, to} before its first key, where that went into a text
let ended = false; // it has had its Enter or Tab; another that follows at once belongs to it
let lastMs = -Infinity;
let later = 0;
let tell = () => {};
let isWanted = () => false;

// onTyped(text): what a gauge typed, with what ended it; without an end when there was none.
// anyTypes(): whether a gauge of this bench types; if none does, what goes into a text stays there.
export function catchBursts(onTyped, anyTypes) {
  tell = onTyped;
  isWanted = anyTypes;
  window.addEventListener("keydown", onDown, true);
  window.addEventListener("keyup", (event) => {
    // A button that never saw Space go down must not be pressed by its coming up.
    if (event.isTrusted && event.key === " " && !isText(event.target)) event.preventDefault();
  }, true);
  window.addEventListener("pointerdown", letGo, true);
  window.addEventListener("blur", letGo); // of the window itself: one of an element does not bubble
}

function onDown(event) {
  if (!event.isTrusted || event.isComposing || isModifier(event.key)) return;
  const sign = event.key.length === 1;
  const end = event.key === "Enter" || event.key === "Tab";
  const fast = event.timeStamp - lastMs <= FAST_MS && !event.repeat;
  lastMs = event.timeStamp;
  if (!fast) finish();
  if (event.repeat || event.ctrlKey || event.altKey || event.metaKey || !(sign || end)) return finish();
  if (end) return onEnd(event, fast);
  if (ended || keys.length >= KEYS_MAX) finish();
  if (!keys.length) field = isText(event.target) ? before(event.target) : null;
  // In a text the first keys stand where a person's would; so does a letter that picks from a list.
  const early = keys.length < GAUGE_KEYS - 1;
  const held = !(early && (field?.element === event.target || picks(event)));
  if (held) swallow(event);
  keys.push({ event, held });
  clearTimeout(later);
  later = setTimeout(letGo, HOLD_MS);
}

function onEnd(event, fast) {
  if (fast && ended) return swallow(event); // the second of carriage return and line feed
  const text = spelled(keys);
  const byGauge = keys.length + 1 >= GAUGE_KEYS && (!field || (isWanted() && NUMBER.test(text)));
  if (!byGauge) return finish();
  swallow(event);
  if (field) putBack(field);
  forget();
  ended = true;
  tell(`${text}${event.key === "Tab" ? "\t" : "\n"}`);
}

// No more comes, as far as can be told: what was held is a person's after all, or nobody's, being
// too fast for a hand and without an end. Should the rest come all the same, late through a busy
// machine, the burst is still known from its beginning: half a number is never told as one.
function letGo() {
  clearTimeout(later);
  const held = keys.filter((each) => each.held);
  for (const each of held) each.held = false;
  if (!held.length) return;
  if (field) insert(field.element, spelled(held));
  else if (keys.length >= NO_HAND_KEYS) tell(spelled(keys));
  else held.forEach(({ event }) => giveOn(event));
}

function finish() {
  letGo();
  forget();
}

function forget() {
  clearTimeout(later);
  keys = [];
  field = null;
  ended = false;
}

const spelled = (some) => some.map(({ event }) => event.key).join("");
const picks = (event) => event.target.tagName === "SELECT" && /[a-z]/i.test(event.key);

function swallow(event) {
  event.preventDefault();
  event.stopImmediatePropagation();
}

const isModifier = (key) => ["Shift", "Control", "Alt", "Meta", "AltGraph", "CapsLock", "NumLock"].includes(key);

function isText(element) {
  if (element.readOnly || element.disabled) return false;
  return element.isContentEditable || element.tagName === "TEXTAREA" || (element.tagName === "INPUT" && TEXT_TYPES.has(element.type));
}

function before(element) {
  return { element, value: element.value, from: element.selectionStart, to: element.selectionEnd };
}

function putBack({ element, value, from, to }) {
  if (element.value === value) return;
  element.value = value;
  if (from !== null) element.setSelectionRange(from, to);
  element.dispatchEvent(new Event("input", { bubbles: true }));
}

// As typed, so that it can be undone, and whoever listens to the field hears of it.
function insert(element, text) {
  if (document.activeElement !== element) element.focus();
  document.execCommand("insertText", false, text);
}

// A key that was held, for whatever it would have reached: first our own listeners, then what the
// browser itself would have done with it.
function giveOn({ key, code, shiftKey, target }) {
  const at = target.isConnected ? target : document.body;
  const sent = new KeyboardEvent("keydown", { key, code, shiftKey, bubbles: true, cancelable: true });
  if (!at.dispatchEvent(sent)) return;
  if (at.tagName === "SELECT") choose(at, key);
  else if (key === " " && at.closest("button, summary, input")) at.click();
}

function choose(list, key) {
  if (key === " ") return list.showPicker();
  const options = [...list.options];
  const next = [...options.slice(list.selectedIndex + 1), ...options];
  const found = next.find((each) => each.text.toLowerCase().startsWith(key.toLowerCase()));
  if (!found) return undefined;
  list.value = found.value;
  return list.dispatchEvent(new Event("change", { bubbles: true }));
}
