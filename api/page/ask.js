// Sending: one way to post, and one dialog for everything that needs words.
import { element } from "./marks.js";
import { asksBack } from "./question.js";
import { inWords, say } from "./words.js";

// A bench that does not answer in this time cannot be reached; a page that waits for ever is stuck.
const ANSWER_MS = 10_000;

export async function get(path) {
  const answer = await fetch(`/api/v1${path}`, { signal: AbortSignal.timeout(ANSWER_MS) });
  if (!answer.ok) throw new Error(inWords((await answer.json()).detail));
  return answer.json();
}

// Sends once: the key makes a repeated send harmless. Gives {ok, answer, fault, question}: the
// fault is a sentence about what is wrong, the question what has to be answered first.
export async function postFor(path, body, key = crypto.randomUUID(), withinMs = ANSWER_MS) {
  try {
    const response = await fetch(`/api/v1${path}`, {
      method: "POST",
      headers: { "content-type": "application/json", "idempotency-key": key },
      body: JSON.stringify(body),
      signal: AbortSignal.timeout(withinMs),
    });
    const answer = await response.json();
    if (response.ok) return { ok: true, answer, fault: "", question: "" };
    const errors = (answer.errors ?? []).map(({ where, text }) => ({ where, text: inWords(text) }));
    return { ok: false, answer, fault: inWords(answer.detail), question: inWords(answer.question ?? ""), errors };
  } catch {
    return { ok: false, answer: null, fault: say("unreachable"), question: "" };
  }
}

// Gives "" or a sentence about what is wrong.
export async function post(path, body, key) {
  return (await postFor(path, body, key)).fault;
}

// fields: [{name, label?, options?, value?, required?}]; empty ones are left out of the body.
// quick: [{text, body}]: answers that one touch gives instead of the fields. send: what the button
// says that sends. then: what comes after, given the answer.
export function askFor({ title, help = "", fields, quick = [], path, also = {}, send = say("send"), then = () => {} }) {
  const fault = document.getElementById("asking_fault");
  const key = crypto.randomUUID();
  const button = document.getElementById("asking_send");
  const back = asksBack(button, send);
  const give = async (told) => {
    const said = back.body(told);
    const found = await postFor(path, { ...also, ...said }, `${key}:${JSON.stringify(said).length}:${hash(said)}`);
    back.asked(told, found.question);
    fault.textContent = found.question || found.fault;
    if (!found.ok || !dialog().open) return;
    dialog().close();
    then(found.answer);
  };
  const answers = quick.map(({ text, body }) => option(text, () => give(body)));
  const into = open(title, help, [...answers, ...fields.map(field)]);
  into.oninput = () => back.asked(null, "");
  button.hidden = false;
  button.disabled = false;
  button.textContent = send;
  dialog().querySelector("form").onsubmit = (event) => {
    event.preventDefault();
    give(Object.fromEntries(
      [...into.querySelectorAll("[name]")].filter((each) => each.value.trim() !== "").map((each) => [each.name, each.value.trim()]),
    ));
  };
}

// One touch and it is done. options: [{text, act, id?}]. left: called when nothing was chosen.
export function choose({ title, help = "", options, left = () => {} }) {
  const buttons = options.map(({ text, act, id = "" }) => {
    const made = option(text, () => {
      dialog().close();
      act();
    });
    made.dataset.option = id;
    return made;
  });
  open(title, help, buttons, left);
  document.getElementById("asking_send").hidden = true;
  dialog().querySelector("form").onsubmit = (event) => event.preventDefault();
}

const dialog = () => document.getElementById("asking");

function option(text, act) {
  const made = element("button", "option", text);
  made.type = "button";
  made.onclick = act;
  return made;
}

function open(title, help, content, left = () => {}) {
  const into = document.getElementById("asking_fields");
  document.getElementById("asking_title").textContent = title;
  document.getElementById("asking_help").textContent = help;
  document.getElementById("asking_fault").textContent = "";
  dialog().oncancel = left;
  document.getElementById("asking_cancel").onclick = () => {
    left();
    dialog().close();
  };
  into.replaceChildren(...content);
  dialog().showModal();
  return into;
}

// What puts up the first that is left of a job: for askFor; null where nothing is.
export async function putUp(job) {
  const at = `/jobs/${encodeURIComponent(job)}`;
  const [first] = (await get(`${at}/remaining`)).targets;
  return first ? { title: say("put_up"), path: `${at}/up`, also: first, fields: [] } : null;
}

// Another body is another request: only an unchanged one may count as the same.
function hash(said) {
  return [...JSON.stringify(said)].reduce((sum, letter) => (sum * 31 + letter.codePointAt(0)) >>> 0, 7);
}

function field({ name, label = say(name), options, value = "", required = false }) {
  const made = document.createElement(options ? "select" : "input");
  if (options) made.append(...options.map((each) => new Option(each.text ?? each, each.value ?? each)));
  if (value || !options) made.value = value;
  made.name = name;
  made.required = required;
  made.autocomplete = "off";
  return element("label", "", label, made);
}
