// Hands the token to the bench once; the bench keeps it in a cookie that no script can read.
import { fillWords } from "./words.js";

fillWords(document);
const field = document.getElementById("token");
document.getElementById("enter").addEventListener("submit", async (event) => {
  event.preventDefault();
  const headers = { authorization: `Bearer ${field.value.trim()}` };
  field.value = "";
  const answer = await fetch("api/v1/session", { method: "POST", headers });
  if (answer.ok) {
    location.assign("./");
    return;
  }
  const problem = await answer.json();
  document.getElementById("said").textContent = problem.detail;
});
