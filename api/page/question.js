// A question before something is kept, in full, with its large answers.
import { element } from "./marks.js";
import { say } from "./words.js";

// answers: [{id, text, act}]
export function question(words, answers) {
  return element("div", "question", element("p", "asked", words), answerRow(answers));
}

// Answers cannot be given before anybody can have read the question: the second half of a double
// press, meant for what stood here before, must not answer it. Nor while an answer is on its way.
const READ_MS = 600;

export function answerRow(answers) {
  const buttons = answers.map(({ text, className = "" }) => element("button", className, text));
  const lock = (yes) => buttons.forEach((each) => (each.disabled = yes));
  answers.forEach(({ id, act }, at) => {
    buttons[at].type = "button";
    buttons[at].id = id;
    buttons[at].onclick = async () => {
      lock(true);
      await act();
      lock(false);
    };
  });
  lock(true);
  setTimeout(lock, READ_MS, false);
  return element("div", "answers", ...buttons);
}

// A question about what a form sends: its button then says that it is right, and sends the same once
// more. Gives {body, asked}: what to send for what was said, and whom to tell what was asked of it.
export function asksBack(button, send) {
  let about = "";
  return {
    body: (said) => (JSON.stringify(said) === about ? { ...said, confirmed: true } : said),
    asked(said, question) {
      about = question ? JSON.stringify(said) : "";
      button.textContent = question ? say("keep_right") : send;
      if (!question) return;
      button.disabled = true;
      setTimeout(() => (button.disabled = false), READ_MS);
    },
  };
}
