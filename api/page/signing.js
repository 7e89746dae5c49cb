// Closing a job: what is asked of who signs, and what they have to be told first.
import { say } from "./words.js";

// For askFor and formFor alike. record: of the job; at: its path.
export function signing(at, record) {
  const { remaining, decisions, open_points } = record;
  const bad = decisions.filter((each) => each.decision !== "accept").length;
  const open = [remaining && say("sign_unmeasured", { n: remaining }), bad && say("sign_not_good", { n: bad, of: decisions.length })];
  const fields = [{ name: "person", label: say("who_signs"), required: true }];
  // The bench takes no signature under what is not sure without a reason.
  if (open_points.some((each) => each.decision === "unsure")) fields.push({ name: "reason", label: say("sign_reason"), required: true });
  return {
    help: [...open, say("sign_help")].filter(Boolean).join(" "),
    path: `${at}/sign`,
    fields,
    send: say(remaining || bad ? "sign_anyway" : "sign"),
  };
}
