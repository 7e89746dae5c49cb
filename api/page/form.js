// A form on a page: fields, one button, what was wrong said beneath it, and a body sent once.
import { postFor } from "./ask.js";
import { element } from "./marks.js";
import { asksBack } from "./question.js";
import { say } from "./words.js";

// fields: [{name, label?, options?, value?, required?, lines?}]; empty ones are left out of the
// body. also: what else is sent; then: what comes after, given the answer.
export function formFor({ fields, path, also = {}, send = say("send"), then }) {
  const fault = element("p", "bad", "");
  fault.setAttribute("role", "alert");
  const button = element("button", "main", send);
  const form = element("form", "", ...fields.map(field), button, fault);
  let sent = ""; // the body that was tried last, and its key: the same again is the same request
  let key = "";
  const back = asksBack(button, send);
  form.oninput = () => back.asked(null, "");
  form.onsubmit = async (event) => {
    event.preventDefault();
    const told = { ...also, ...filled(form) };
    const body = back.body(told);
    if (JSON.stringify(body) !== sent) [sent, key] = [JSON.stringify(body), crypto.randomUUID()];
    button.disabled = true;
    const found = await postFor(path, body, key);
    button.disabled = false;
    back.asked(told, found.question);
    fault.textContent = found.question || found.fault;
    if (found.ok) await then(found.answer);
  };
  return form;
}

// What stands in the named fields of a form, without the empty ones.
export function filled(form) {
  const named = [...form.querySelectorAll("[name]")].map((each) => [each.name, each.value.trim()]);
  return Object.fromEntries(named.filter(([, value]) => value !== ""));
}

export function field({ name, label = say(name), options, value = "", required = false, lines = 1 }) {
  const made = document.createElement(options ? "select" : lines > 1 ? "textarea" : "input");
  if (options) made.append(...options.map((each) => new Option(each.text ?? each, each.value ?? each)));
  if (value || !options) made.value = value;
  made.name = name;
  made.required = required;
  made.autocomplete = "off";
  return element("label", "", label, made);
}
