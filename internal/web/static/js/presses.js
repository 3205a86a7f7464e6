// The list of presses of a hold: what the shop knows and what this device still keeps, each with its state and its key to undo.

import { ask } from "./ask.js";
import { el, icon } from "./dom.js";
import * as outbox from "./outbox.js";
import { clock, say } from "./words.js";

const RANK = { start: 0, end: 2 }; // of presses of one moment

/** Presses keeps the list of one hold. */
export class Presses {
  constructor(list, { job, hold, url, device, said }) {
    Object.assign(this, { list, job, hold, url, device, said });
    this.learn(JSON.parse(list.dataset.known || "[]"), Number(list.dataset.seq) || 0);
    this.rows = [];
  }

  /** learn takes over what the shop knows, up to its entry seq. */
  learn(known, seq) {
    this.known = known;
    this.seq = Math.max(seq, ...known.map((k) => k.seq));
  }

  /** load merges both sources; newest first. */
  async load() {
    const mine = await outbox.list((e) => e.job === this.job && (e.kind === "struck" || (e.kind === "pressed" && e.body.hold === this.hold)));
    const strikes = mine.filter((e) => e.kind === "struck" && e.state !== "left" && e.state !== "refused");
    const struck = (key, seq) => strikes.find((e) => (e.of ? e.of === key : e.body.seq === seq));
    const known = new Set(this.known.map((k) => k.key));
    const rows = this.known.map((k) => ({ key: k.key, seq: k.seq, state: "sent", struck: k.struck, strike: struck(k.key, k.seq), body: { ...k, hold: this.hold },
      at: k.at, device: k.device, by: k.by, on: k.on, mine: k.device === this.device && String(k.person) === outbox.person() }));
    for (const e of mine) {
      if (e.kind !== "pressed" || e.state === "left" || known.has(e.key)) continue;
      const gone = e.state === "sent" && e.seq <= this.seq; // the shop no longer lists it
      rows.push({ key: e.key, seq: e.seq, state: e.state, struck: gone, strike: struck(e.key, e.seq), body: e.body, entry: e, at: Date.parse(e.at), device: this.device, mine: e.person === outbox.person() });
    }
    this.rows = inOrder(rows);
    return this.rows;
  }

  /** of are the presses of a watch that count, newest first. */
  of(name) {
    return this.rows.filter((r) => r.body.watch === name && r.device === this.device && !r.strike && !r.struck && r.state !== "refused");
  }

  /** last is the newest press that can be undone. */
  get last() {
    return this.rows.find((r) => !r.struck && !r.strike);
  }

  /** draw shows the list; focus stays where it was. */
  draw() {
    const focused = document.activeElement?.dataset?.rowKey;
    const typed = new Map([...this.list.querySelectorAll("input")].map((i) => [i.dataset.of, i.value]));
    this.list.replaceChildren(...(this.rows.length ? this.rows.map((r) => this.#row(r)) : [el("li", { class: "quiet" }, say("noPresses"))]));
    for (const i of this.list.querySelectorAll("input")) if (typed.has(i.dataset.of)) i.value = typed.get(i.dataset.of);
    if (focused) this.list.querySelector(`[data-row-key="${CSS.escape(focused)}"]`)?.focus();
  }

  /** told says a press in a few words. */
  told(r) {
    return say("saidPress", { what: say(r.body.press), t: clock(r.body.elapsed_ms / 1000) });
  }

  #row(r) {
    const b = r.body, off = r.struck || r.strike;
    const what = [say(b.press), b.press === "start" ? [say(b.stroke || ""), b.pressure].filter(Boolean).join(", ") : b.rod || b.pressure || ""].filter(Boolean).join(": ");
    let state = say(r.state === "typing" ? "waiting" : r.state);
    if (r.state === "refused") state = `${say("refused")}: ${outbox.why(r.entry.problem)}`;
    if (off) state = say(r.struck || r.strike.state === "sent" ? "undone" : "undoing");
    if (!r.mine && r.by) state = [state, r.by, r.on].filter(Boolean).join(" · ");
    const keys = [];
    if (!off && r.state === "refused") keys.push(...this.#mend(r));
    else if (!off) keys.push(el("button", { type: "button", class: "key", "data-row-key": r.key, "aria-label": `${say("undo")}: ${this.told(r)}`, onclick: () => this.undo(r) }, icon("undo")));
    return el("li", { class: `press ${off ? "struck" : r.state === "typing" ? "kept" : r.state}` }, el("span", { class: "press-time" }, clock(b.elapsed_ms / 1000)),
      el("span", { class: "press-what" }, el("b", {}, what), el("span", { class: "press-state" }, state)), el("span", { class: "row" }, ...keys));
  }

  // mend gives the keys of a press that was refused: type the value again, send again, or leave it out.
  #mend(r) {
    const field = r.entry.problem?.where, has = typeof r.body[field] === "string" && field !== "watch";
    const input = has ? el("input", { class: "mend", value: r.body[field], "data-of": r.key, "aria-label": `${say("value")}: ${field}`, autocomplete: "off" }) : null;
    const again = () => outbox.change({ ...r.entry, body: has ? { ...r.body, [field]: input.value.trim() } : r.body, state: "kept", problem: null });
    const leave = async () => (await ask(say("leaveOutAsk"), say("leaveOut"))) && outbox.forget(r.entry);
    return [input, el("button", { type: "button", class: "key", "data-row-key": r.key, onclick: again }, say("sendAgain")), el("button", { type: "button", class: "key quiet", onclick: leave }, say("leaveOut"))].filter(Boolean);
  }

  /** undo takes a press out; for one of another person or device it asks first. */
  async undo(r) {
    if (!r.mine && !(await ask(say("undoTheirs", { who: r.by, where: r.on || say("nowhere"), what: this.told(r) }), say("undoYes")))) return;
    if (r.entry) await outbox.strike(r.entry, "undone at the bench", this.url);
    else await outbox.add({ url: this.url, job: this.job, kind: "struck", of: r.key, body: { seq: r.seq, reason: "undone at the bench" } });
    await this.onundo?.(r);
    this.said(say("saidUndo", { what: say(r.body.press), t: clock(r.body.elapsed_ms / 1000) }));
  }
}

// inOrder sorts presses, newest first: watches by their start, the presses of one by the time since it, which no clock that is set moves.
// Where a press is kept, and which of two came to the shop first, does not matter: the order is the same after the page is opened again.
function inOrder(rows) {
  const watch = (r) => `${r.device} ${r.body.watch}`, began = new Map();
  for (const r of rows) {
    const at = r.at - r.body.elapsed_ms;
    if (r.body.press === "start" || !began.has(watch(r))) began.set(watch(r), at);
  }
  const rank = (r) => RANK[r.body.press] ?? 1;
  return rows.sort((a, b) => began.get(watch(b)) - began.get(watch(a)) || (watch(a) < watch(b) ? 1 : watch(a) > watch(b) ? -1 : 0) ||
    b.body.elapsed_ms - a.body.elapsed_ms || rank(b) - rank(a) || b.at - a.at || (a.key < b.key ? 1 : -1));
}
