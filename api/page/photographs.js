// Photographs of a job and its parts: looked at, and taken with the camera of a phone or from a file.
import { get } from "./ask.js";
import { field, filled } from "./form.js";
import { element } from "./marks.js";
import { inWords, named, positionText, say, when } from "./words.js";

const WITHIN_MS = 60_000; // a picture of some megabytes over a slow network

export async function photographsShown(at) {
  const { photographs } = await get(`${at}/photographs`);
  return photographs.map((each) => picture(at, each));
}

function picture(at, { id, position, part, person, note, at: taken }) {
  const image = document.createElement("img");
  const of = [position && positionText(position), part && named("part", part), note].filter(Boolean).join(", ");
  image.src = `/api/v1${at}/photographs/${encodeURIComponent(id)}`;
  image.alt = of || say("photograph");
  return element("figure", "", image, element("figcaption", "soft", [of, person, when(taken)].filter(Boolean).join(" · ")));
}

// positions, parts: to choose from, the first standing for the whole job.
export function photographForm(at, positions, parts, person, then) {
  const file = document.createElement("input");
  Object.assign(file, { type: "file", accept: "image/jpeg,image/png", required: true });
  const fault = element("p", "bad", "");
  fault.setAttribute("role", "alert");
  const fields = [
    { name: "position", options: positions },
    { name: "part", label: say("which_part"), options: parts },
    { name: "note", label: say("photograph_note") },
    { name: "person", value: person },
  ];
  const form = element("form", "", element("label", "", say("photograph"), file), ...fields.map(field), element("button", "main", say("keep_it")), fault);
  form.onsubmit = async (event) => {
    event.preventDefault();
    fault.textContent = await keep(at, filled(form), file.files[0]);
    if (!fault.textContent) await then();
  };
  return form;
}

// Gives "" or what is wrong. The name of the file is nobody's business but that of who took it.
async function keep(at, said, file) {
  try {
    const answer = await fetch(`/api/v1${at}/photographs?${new URLSearchParams(said)}`, {
      method: "POST",
      headers: { "content-type": file.type },
      body: file,
      signal: AbortSignal.timeout(WITHIN_MS),
    });
    return answer.ok ? "" : inWords((await answer.json()).detail);
  } catch {
    return say("unreachable");
  }
}
