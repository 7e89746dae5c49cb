// Fields that write what is typed straight into an object, under its key; an empty one is absent.
import { element } from "./marks.js";

const places = new WeakMap(); // by object and key: where on the page it stands

// Where on the page what an object holds under a key is to be found.
export function standsAt(object, key, made) {
  if (!places.has(object)) places.set(object, new Map());
  places.get(object).set(String(key), made);
  return made;
}

// A fault of the bench said where it stands: at its field, else at the nearest that holds it. where:
// a JSON pointer into root; text: begins with the same path. Gives whether there is such a place.
export function faultShown(root, { where, text }) {
  const keys = where.split("/").slice(1);
  const holders = keys.reduce((all, key) => [...all, all.at(-1)?.[key]], [root]);
  const depth = keys.findLastIndex((key, at) => places.get(holders[at])?.has(key));
  if (depth < 0) return false;
  const made = places.get(holders[depth]).get(keys[depth]);
  const rest = text.startsWith(`${keys.join(".")} `) ? text.slice(keys.join(".").length + 1) : text;
  // Of one in a list it is said which; of what has no field of its own, what it is called.
  const within = keys.slice(depth + 1).join(".");
  const which = Array.isArray(holders[depth + 1]) ? `“${holders.at(-1)}”` : within;
  const said = element("small", "wrong", within ? `${which} ${rest}` : rest);
  if (made.tagName !== "LABEL") made.firstElementChild.after(said);
  else {
    const input = made.querySelector("input, select");
    said.id = `wrong${where.replaceAll("/", "_")}`;
    input.setAttribute("aria-invalid", "true");
    input.setAttribute("aria-describedby", said.id);
    made.after(said);
  }
  return true;
}

export function bound(object, key, label, { options, list = false, number = false, done = () => {} } = {}) {
  const made = document.createElement(options ? "select" : "input");
  if (options) made.append(...options.map((each) => new Option(each.text ?? each, each.value ?? each)));
  made.autocomplete = "off";
  if (list || number) made.inputMode = "decimal";
  const value = object[key];
  made.value = list ? (value ?? []).join(" ") : value ?? "";
  made.onchange = () => {
    const typed = made.value.trim();
    if (list) object[key] = typed.split(/\s+/).filter(Boolean);
    else if (typed === "") delete object[key];
    else object[key] = number ? Number(typed) : typed;
    done();
  };
  return standsAt(object, key, element("label", "", label, made));
}

export function act(text, name, work, disabled = false) {
  const made = element("button", "small", text);
  made.type = "button";
  made.disabled = disabled;
  if (name) made.setAttribute("aria-label", `${text}: ${name}`);
  made.onclick = work;
  return made;
}
