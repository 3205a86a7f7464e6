// The list of what this device keeps for a job, each with its state and its key to undo (data-undo-strip).

import { ask } from "./ask.js";
import { el, icon } from "./dom.js";
import * as outbox from "./outbox.js";
import { say } from "./words.js";

/** start lists what this device keeps or has just sent for the job of the page, each with its key to undo. */
export function start(box) {
  const since = Date.now(), job = document.body.dataset.job;
  const draw = async () => {
    const entries = await outbox.list((e) => e.job === job && !["struck", "pressed"].includes(e.kind));
    const struck = new Set((await outbox.list((e) => e.kind === "struck" && e.state !== "left")).map((e) => e.of));
    const rows = entries.filter((e) => e.state === "refused" || (e.kind !== "minded" && (e.state === "kept" || (e.state === "sent" && e.sentAt >= since)))); // that a caution was read is not taken back at the bench
    box.replaceChildren(...(rows.length ? [el("ol", {}, ...rows.map((e) => row(e, struck.has(e.key))))] : []));
  };
  outbox.listen(draw);
  draw();
}

function row(e, struck) {
  const state = struck ? say(e.state === "sent" ? "undone" : "undoing") : e.state === "refused" ? `${say("refused")}: ${outbox.why(e.problem)}` : say(e.state);
  const keys = e.state === "refused"
    ? [el("button", { type: "button", class: "key", onclick: () => outbox.change({ ...e, state: "kept", problem: null }) }, say("sendAgain")),
      el("button", { type: "button", class: "key quiet", onclick: async () => (await ask(say("leaveOutAsk"), say("leaveOut"))) && outbox.forget(e) }, say("leaveOut"))]
    : struck ? [] : [el("button", { type: "button", class: "key", onclick: () => outbox.strike(e, "undone at the bench") }, icon("undo"), say("undo"))];
  const text = Object.values(e.body).filter((v) => typeof v === "string").join(", ").slice(0, 80);
  return el("li", { class: `press ${struck ? "struck" : e.state}` }, el("span", { class: "press-time" }, new Date(e.at).toTimeString().slice(0, 5)),
    el("span", { class: "press-what" }, el("b", {}, text || e.kind), el("span", { class: "press-state" }, state)), el("span", { class: "row" }, ...keys));
}
