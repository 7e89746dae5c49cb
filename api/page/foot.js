// One foot switch that is a key: short goes on, long takes again, twice undoes the last.
import { remember, remembered } from "./remembered.js";

const LONG_MS = 600;
const TWICE_MS = 350; // from letting go to the second press
const BOUNCE_MS = 40; // a contact that bounces presses again sooner than any foot

let downMs = -Infinity;
let upMs = -Infinity;
let isDown = false;
let done = false; // this press was acted upon already
let presses = 0;
let waiting = 0;
let learning = null;

// acts: {short, long, twice}. It goes in front of everything else that listens to keys.
export function wireFoot(acts) {
  window.addEventListener("keydown", (event) => onDown(event, acts), true);
  window.addEventListener("keyup", (event) => onUp(event, acts), true);
}

// The next key that may be one becomes the foot switch. told(key): it did.
export function learnFoot(told) {
  learning = told;
}

export function stopLearning() {
  learning = null;
}

// What writes numbers or moves about on the page is needed for that.
function mayBeFoot({ key }) {
  return !/^[\d.,+\- ]$/.test(key) && !["Enter", "Tab", "Escape", "Backspace", "Shift", "Control", "Alt", "Meta", "AltGraph"].includes(key);
}

function isFoot(event) {
  if (!event.isTrusted || event.key !== remembered("foot_key") || event.ctrlKey || event.altKey || event.metaKey) return false;
  const writes = event.key.length === 1 && event.target.closest?.("input, select, textarea");
  return !writes && !document.querySelector("dialog[open]");
}

function take(event) {
  event.preventDefault();
  event.stopImmediatePropagation();
}

function onDown(event, { long }) {
  if (learning && mayBeFoot(event)) {
    take(event);
    remember("foot_key", event.key);
    const told = learning;
    learning = null;
    return told(event.key);
  }
  if (!isFoot(event)) return undefined;
  take(event);
  if (event.repeat || isDown || event.timeStamp - upMs < BOUNCE_MS) return undefined;
  isDown = true;
  downMs = event.timeStamp;
  done = false;
  presses += 1;
  clearTimeout(waiting);
  waiting = setTimeout(() => act(long), LONG_MS);
  return undefined;
}

function onUp(event, { short, long, twice }) {
  if (!isDown || event.key !== remembered("foot_key")) return;
  take(event);
  isDown = false;
  upMs = event.timeStamp;
  if (done) return;
  clearTimeout(waiting);
  if (upMs - downMs >= LONG_MS) act(long); // the page was busy meanwhile
  else if (presses > 1) act(twice);
  else waiting = setTimeout(() => act(short), TWICE_MS);
}

function act(what) {
  done = true;
  presses = 0;
  what();
}
