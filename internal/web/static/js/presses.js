// The list of presses of a hold: what the shop knows and what this device still keeps, each with its state and its key to undo.

import { el, icon } from "./dom.js";
import * as outbox from "./outbox.js";
import { clock, say } from "./words.js";

/** Presses keeps the list of one hold. */
export class Presses {
  constructor(list, { job, hold, url, said }) {
    Object.assign(this, { list, job, hold, url, said });
    this.known = JSON.parse(list.dataset.known || "[]");
    this.seq = Math.max(Number(list.dataset.seq) || 0, ...this.known.map((k) => k.seq));
    this.rows = [];
  }

  /** load merges both sources; newest first. */
  async load() {
    const mine = await outbox.list((e) => e.job === this.job && (e.kind === "struck" || (e.kind === "pressed" && e.body.hold === this.hold)));
    const strikes = mine.filter((e) => e.kind === "struck" && e.state !== "left" && e.state !== "refused");
    const struck = (key, seq) => strikes.find((e) => (e.of ? e.of === key : e.body.seq === seq));
    const known = new Set(this.known.map((k) => k.key));
    const rows = this.known.map((k) => ({ key: k.key, seq: k.seq, state: "sent", struck: k.struck, strike: struck(k.key, k.seq), body: { ...k, hold: this.hold }, order: k.seq }));
    for (const e of mine) {
      if (e.kind !== "pressed" || e.state === "left" || known.has(e.key)) continue;
      const gone = e.state === "sent" && e.seq <= this.seq; // the shop no longer lists it
      rows.push({ key: e.key, seq: e.seq, state: e.state, struck: gone, strike: struck(e.key, e.seq), body: e.body, entry: e, order: 1e9 + e.n });
    }
    rows.sort((a, b) => b.order - a.order);
    this.rows = rows;
    return rows;
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

  #row(r) {
    const b = r.body, off = r.struck || r.strike;
    const what = [say(b.press), b.press === "start" ? [say(b.stroke || ""), b.pressure].filter(Boolean).join(", ") : b.rod || b.pressure || ""].filter(Boolean).join(": ");
    let state = say(r.state === "typing" ? "waiting" : r.state);
    if (r.state === "refused") state = `${say("refused")}: ${outbox.why(r.entry.problem)}`;
    if (off) state = say(r.struck || r.strike.state === "sent" ? "undone" : "undoing");
    const keys = [];
    if (!off && r.state === "refused") keys.push(...this.#mend(r));
    else if (!off) {
      keys.push(el("button", { type: "button", class: "key", "data-row-key": r.key, "aria-label": `${say("undo")}: ${say("saidPress", { what: say(b.press), t: clock(b.elapsed_ms / 1000) })}`, onclick: () => this.undo(r) }, icon("undo")));
    }
    return el("li", { class: `press ${off ? "struck" : r.state === "typing" ? "kept" : r.state}` }, el("span", { class: "press-time" }, clock(b.elapsed_ms / 1000)),
      el("span", { class: "press-what" }, el("b", {}, what), el("span", { class: "press-state" }, state)), el("span", { class: "row" }, ...keys));
  }

  // mend gives the keys of a press that was refused: type the value again, send again, or leave it out.
  #mend(r) {
    const field = r.entry.problem?.where, has = typeof r.body[field] === "string";
    const input = has ? el("input", { class: "mend", value: r.body[field], "data-of": r.key, "aria-label": `${say("value")}: ${field}`, autocomplete: "off" }) : null;
    const again = () => outbox.change({ ...r.entry, body: has ? { ...r.body, [field]: input.value.trim() } : r.body, state: "kept", problem: null });
    return [input, el("button", { type: "button", class: "key", "data-row-key": r.key, onclick: again }, say("sendAgain")),
      el("button", { type: "button", class: "key quiet", onclick: () => confirm(say("leaveOutAsk")) && outbox.forget(r.entry) }, say("leaveOut"))].filter(Boolean);
  }

  /** undo takes a press out. */
  async undo(r) {
    if (r.entry) await outbox.strike(r.entry, "undone at the bench", this.url);
    else await outbox.add({ url: this.url, job: this.job, kind: "struck", of: r.key, body: { seq: r.seq, reason: "undone at the bench" } });
    await this.onundo?.(r);
    this.said(say("saidUndo", { what: say(r.body.press), t: clock(r.body.elapsed_ms / 1000) }));
  }
}
