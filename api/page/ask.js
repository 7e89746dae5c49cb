// Sending: one way to post, and one dialog for everything that needs words.
import { element } from "./marks.js";
import { say } from "./words.js";

// A bench that does not answer in this time cannot be reached; a page that waits for ever is stuck.
const ANSWER_MS = 10_000;

export async function get(path) {
  const answer = await fetch(`/api/v1${path}`, { signal: AbortSignal.timeout(ANSWER_MS) });
  if (!answer.ok) throw new Error((await answer.json()).detail);
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
    return { ok: false, answer, fault: answer.detail, question: answer.question ?? "", errors: answer.errors ?? [] };
  } catch {
    return { ok: false, answer: null, fault: say("unreachable"), question: "" };
  }
}

// Gives "" or a sentence about what is wrong.
export async function post(path, body, key) {
  return (await postFor(path, body, key)).fault;
}

// fields: [{name, label?, options?, value?, required?}]; empty ones are left out of the body.
// send: what the button says that sends. then: what comes after, given the answer.
export function askFor({ title, help = "", fields, path, also = {}, send = say("send"), then = () => {} }) {
  const dialog = document.getElementById("asking");
  const into = document.getElementById("asking_fields");
  const fault = document.getElementById("asking_fault");
  const key = crypto.randomUUID();
  document.getElementById("asking_title").textContent = title;
  document.getElementById("asking_help").textContent = help;
  document.getElementById("asking_send").textContent = send;
  document.getElementById("asking_cancel").onclick = () => dialog.close();
  fault.textContent = "";
  into.replaceChildren(...fields.map(field));
  dialog.querySelector("form").onsubmit = async (event) => {
    event.preventDefault();
    const said = Object.fromEntries(
      [...into.querySelectorAll("[name]")].filter((each) => each.value.trim() !== "").map((each) => [each.name, each.value.trim()]),
    );
    const found = await postFor(path, { ...also, ...said }, `${key}:${JSON.stringify(said).length}:${hash(said)}`);
    fault.textContent = found.fault;
    if (!found.ok || !dialog.open) return;
    dialog.close();
    then(found.answer);
  };
  dialog.showModal();
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
