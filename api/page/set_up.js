// Setting up a gauge nobody knows: the bench listens, asks, and gives the section for its config.
import { get, postFor } from "./ask.js";
import { field, formFor } from "./form.js";
import { element } from "./marks.js";
import { $, orSay } from "./sheet.js";
import { say } from "./words.js";

const LOOK_MS = 300;

let asked = null; // the question that stands on the page

export async function wireSetUp() {
  await showPorts();
  const talk = await get("/ports/listen");
  if (talk.port) await follow(talk);
}

async function showPorts() {
  const { ports } = await get("/ports");
  const free = ports.filter((each) => !each.gauge);
  const options = free.map((each) => ({ value: each.usb || each.device, text: [each.device, each.about].filter(Boolean).join(": ") }));
  const fields = [options.length ? { name: "port", label: say("port"), options, required: true } : { name: "port", label: say("port"), required: true }];
  $("ports").replaceChildren(formFor({ path: "/ports/listen", fields, send: say("listen"), then: begun }));
}

function begun(talk) {
  $("talk").replaceChildren();
  return follow(talk);
}

// Look again until it is over.
async function follow(talk) {
  showTalk(talk);
  if (talk.over) return;
  setTimeout(() => orSay(async () => follow(await get("/ports/listen"))), LOOK_MS);
}

function showTalk({ lines, question, proposed, over, placed }) {
  for (const line of lines.slice($("talk").children.length)) $("talk").append(element("pre", "", line));
  if (over) $("talk").append(...($("talk").querySelector(".end") ? [] : [element("p", "note end", say(placed ? "set_up_done" : "set_up_not"))]));
  if (question === asked) return;
  asked = question;
  $("asked").replaceChildren(...(question ? [answerForm(question, proposed), stopButton()] : []));
  $("asked").querySelector("input")?.focus();
}

function answerForm(question, proposed) {
  const form = element("form", "", field({ name: "text", label: question, value: proposed }), element("button", "main", say("answer")));
  form.onsubmit = (event) => {
    event.preventDefault();
    orSay(() => tell("/ports/listen/answer", { text: form.querySelector("input").value.trim() }));
  };
  return form;
}

function stopButton() {
  const made = element("button", "", say("stop"));
  made.type = "button";
  made.onclick = () => orSay(() => tell("/ports/listen/stop", {}));
  return made;
}

async function tell(path, body) {
  const found = await postFor(path, body);
  if (!found.ok) throw new Error(found.fault);
  showTalk(found.answer);
}
