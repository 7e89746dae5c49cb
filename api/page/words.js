// Every word of the page comes from the catalogue of its language, so that another language is
// another file. It is the one chosen on this machine, else the first the browser asks for.
const LANGUAGES = { en: "English", de: "Deutsch" };
const CHOSEN = "language";

const codes = Object.keys(LANGUAGES);
const wished = [localStorage.getItem(CHOSEN), ...navigator.languages.map((each) => each.split("-")[0])];
const language = wished.find((each) => codes.includes(each)) ?? "en";
const words = await (await fetch(`words/${language}.json`)).json();

// The words under a key, `a.b` for nested ones, with {names} filled in.
export function say(key, values = {}) {
  const found = words[key] ?? "";
  return found.replace(/\{(\w+)\}/g, (_, name) => values[name] ?? "");
}

// The word for a code; a code without one is shown as it is, never dropped.
export function named(group, code) {
  return words[group]?.[code] ?? code;
}

// A sentence of the bench, in the language of the page where it is one that says what to do now, and
// with the names of characteristics as a person says them: the record and its software keep the
// codes, a page never shows one.
export function inWords(sentence) {
  return named("sentence", sentence).replace(/\b[a-z]+\.[a-z_]+\b/g, (code) => named("characteristic", code));
}

export function placeText(place) {
  if (!place) return "";
  if (place.spot) return place.spot;
  if (place.length_mm) return say("place_length", { length: Number(place.length_mm) });
  return say("place", { depth: Number(place.depth_mm), direction: named("direction", place.direction) });
}

// A position as it is stamped on its tag. The head is one, too, and that is a word of the language.
export const positionText = (position) => named("part", position);

// What is measured where, in one line. What is measured of the head names the head itself.
export function targetText({ position, characteristic, place }) {
  const at = isOfHead(characteristic) ? "" : `${positionText(position)} `;
  return `${at}${named("characteristic", characteristic)}${place ? `, ${placeText(place)}` : ""}`;
}

export const isOfHead = (characteristic) => characteristic.startsWith("head.");

// A part by where it is; the head is where it is itself.
export function partText(position, part) {
  return position === part ? named("part", part) : `${position} ${named("part", part)}`;
}

export function fillWords(root) {
  document.documentElement.lang = language;
  for (const each of root.querySelectorAll("[data-w]")) each.textContent = say(each.dataset.w);
  for (const each of root.querySelectorAll("[data-language]")) offerNext(each);
}

// A button that names the next language in its own words, and changes to it.
function offerNext(button) {
  const next = codes[(codes.indexOf(language) + 1) % codes.length];
  button.lang = next;
  button.textContent = LANGUAGES[next];
  button.onclick = () => {
    localStorage.setItem(CHOSEN, next);
    location.reload();
  };
}

// A value as a person reads it: a recess always with its side.
export function valueText(m) {
  if (m.value === null) return say("no_reading");
  if (m.unit === "1") return say(Number(m.value) ? "look_good" : "look_bad");
  if (m.characteristic !== "valve.recess") return `${m.value} ${m.unit}`;
  const proud = m.value.startsWith("-");
  return `${m.value.replace("-", "")} ${m.unit} ${say(proud ? "proud" : "deep")}`;
}

// What is proven of a value. A look is a yes or a no and proves nothing; and what has a limit was
// not judged for another reason than the want of one.
export function statusText({ status, unit, limits }) {
  if (unit === "1" && ["PASS", "FAIL"].includes(status)) return say(status === "PASS" ? "look_good" : "look_bad");
  if (status === "NOT_ANALYZED" && limits) return say("not_judged");
  return named("status", status);
}

// A value with what is proven of it, in one line; the answer to a look is both.
export function valueAndStatus(m) {
  return [...new Set([valueText(m), statusText(m)])].join(", ");
}

// A time of the record, on the clock of whoever reads it.
export function when(at) {
  return new Date(at).toLocaleString(language, { dateStyle: "medium", timeStyle: "short" });
}

// Of a value that has a limit.
export function limitText(m) {
  const { lower, upper } = m.limits;
  if (lower === null) return say("limit_most", { upper });
  if (upper === null) return say("limit_least", { lower });
  return say("limit_both", { lower, upper });
}

// The same with its unit; a yes has none.
export function limitUnitText(m) {
  return m.unit === "1" ? limitText(m) : `${limitText(m)} ${m.unit}`;
}
