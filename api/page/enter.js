// Hands the token to the bench once; the bench keeps it in a cookie that no script can read.
import { catchBursts } from "./burst.js";
import { fillWords, say } from "./words.js";

const $ = (id) => document.getElementById(id);

fillWords(document);
// Nobody is let in yet, so a gauge that types can give its number to nobody; but it is no token.
catchBursts((text) => ($("said").textContent = say("typed_outside", { text: text.trim() })), () => true);

$("enter").addEventListener("submit", async (event) => {
  event.preventDefault();
  const headers = { authorization: `Bearer ${$("token").value.trim()}` };
  $("token").value = "";
  const answer = await fetch("api/v1/session", { method: "POST", headers });
  if (answer.ok) {
    location.assign(askedFor());
    return;
  }
  const problem = await answer.json();
  $("said").textContent = problem.detail;
});

// The page that was asked for before; only one of this bench, whatever the address says: a link must
// not lead who has just come in to somebody else's page.
function askedFor() {
  const to = new URLSearchParams(location.search).get("to") ?? "";
  const page = URL.canParse(to, location) ? new URL(to, location) : location;
  const ours = page.protocol === location.protocol && page.host === location.host;
  return ours && page.pathname !== location.pathname ? page.href : "./";
}
