// Fields that write what is typed straight into an object, under its key; an empty one is absent.
import { element } from "./marks.js";

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
  return element("label", "", label, made);
}

export function act(text, name, work, disabled = false) {
  const made = element("button", "small", text);
  made.type = "button";
  made.disabled = disabled;
  if (name) made.setAttribute("aria-label", `${text}: ${name}`);
  made.onclick = work;
  return made;
}
