// A question before something is kept, in full, with its large answers.
import { element } from "./marks.js";

// answers: [{id, text, act}]
export function question(words, answers) {
  return element("div", "question", element("p", "asked", words), answerRow(answers));
}

export function answerRow(answers) {
  return element("div", "answers", ...answers.map(({ id, text, act, className = "" }) => {
    const made = element("button", className, text);
    made.type = "button";
    made.id = id;
    made.onclick = act;
    return made;
  }));
}
