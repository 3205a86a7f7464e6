// The live hold: a block of keys, a running watch, presses that are kept before they are sent, and the outcome as it grows.
//
// The time of a press is that of the event (the finger going down, the key of the keyboard), never that of the typing after it.

import { ask } from "./ask.js";
import { buzz, el, icon, quantity } from "./dom.js";
import { hotkeys } from "./hotkeys.js";
import { Keys, turned } from "./keys.js";
import { Mark } from "./mark.js";
import * as outbox from "./outbox.js";
import { Outcome } from "./outcome.js";
import { Presses } from "./presses.js";
import { Shop } from "./shop.js";
import { Watch } from "./watch.js";
import { clock, say } from "./words.js";

/** start makes the page of a hold live. */
export function start(root) {
  if (root.querySelector("[data-hold-keys]")) new Hold(root).begin(); // a closed job has no keys
}

class Hold {
  #typing = null; // the mark whose value is being typed, as soon as this device has it
  #keeping = 0; // marks whose value is typed and not yet kept
  #over = ""; // the watch of another device that the next start takes over
  #lock = null;

  constructor(root) {
    const one = (s) => root.querySelector(s);
    Object.assign(this, {
      root, hold: root.dataset.hold, job: document.body.dataset.job, url: root.dataset.entriesUrl ?? document.body.dataset.entriesUrl, device: Number(document.body.dataset.device) || 0,
      setup: one("[data-hold-setup]"), face: one("[data-hold-clock]"), state: one("[data-hold-state]"), live: one("[data-hold-say]"),
      keys: one("[data-hold-keys]"), undo: one("[data-undo]"), drawer: one("[data-presses-drawer]"), elsewhere: one("[data-elsewhere]"),
    });
    const said = (t) => this.say(t), { job, hold, url, device } = this;
    this.watch = new Watch(`${job} ${hold}`);
    this.mark = new Mark(one("[data-hold-mark]"));
    this.presses = new Presses(one("[data-presses]"), { job, hold, url, device, said });
    this.presses.onundo = (r) => this.undone(r);
    this.outcome = new Outcome(one("#outcome"), one("[data-outcome-age]"), root.dataset.lookUrl, { watch: this.watch, stroke: () => this.stroke(), said, counted: (n) => this.counted(n) });
    this.shop = new Shop(job, hold, JSON.parse(this.keys.dataset.runs || "null"));
    this.block = new Keys(this.keys, (name, t) => this.press(name, t), { turning: ["start", "end"] });
  }

  async begin() {
    const how = await this.watch.resume();
    if (how === "reloaded" || how === "back") this.notice(say(how === "back" ? "clockBack" : "reloaded"), how);
    this.listen();
    outbox.listen(() => this.refresh());
    await this.refresh();
    setInterval(() => this.beat(), 1000);
    setInterval(() => this.outcome.tick(), 250);
    const frame = () => {
      if (this.watch.running) this.face.textContent = clock(this.watch.elapsed() / 1000);
      requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
    if (this.watch.running || "live" in this.outcome.box.dataset) this.outcome.ask(); // what was typed says something without a watch
    this.shop.listen((news) => this.heard(news));
  }

  listen() {
    const buttons = [...this.keys.querySelectorAll("[data-press]")];
    for (const b of buttons) b.disabled = false;
    hotkeys(this.block, buttons, this.root, () => this.mark.open && this.mark.input);
    this.setup?.addEventListener("submit", (ev) => ev.preventDefault());
    this.undo.addEventListener("click", () => this.undoLast());
    this.keys.querySelector("[data-take-over]").addEventListener("click", () => this.takeOver());
    document.addEventListener("visibilitychange", () => {
      if (document.hidden) return;
      this.beat();
      this.awake();
      if (this.watch.running) this.outcome.ask();
    });
  }

  /** press makes one press at a time, and says whether it was one. */
  press(press, t) {
    if ((press === "start") === this.watch.running || (press === "start" && this.foreign())) return false;
    buzz(press === "end" ? [40, 60, 40] : 40);
    const body = { hold: this.hold, press };
    if (press === "start") Object.assign(body, this.begun(t));
    else Object.assign(body, { watch: this.watch.name, elapsed_ms: Math.round(this.watch.elapsed(t)) });
    if (press === "end") this.ended();
    if (press === "start") this.outcome.ask();
    this.show();
    this.keep(press, body, new Date(Date.now() - (performance.now() - t)).toISOString());
    return true;
  }

  async keep(press, body, at) {
    const typed = press === "mark";
    const kept = outbox.add({ url: this.url, job: this.job, kind: "pressed", at, body, state: typed ? "typing" : "kept" });
    if (typed) this.type(kept);
    await kept;
    const t = clock(body.elapsed_ms / 1000);
    this.say(press === "start" ? say("saidStart") : press === "end" ? say("saidEnd", { t }) : say("saidPress", { what: say(press), t }));
  }

  // begun starts a new watch and gives what the start says.
  begun(t) {
    const f = this.setup?.elements ?? {}, locked = !!(f.locked?.checked || f.locked?.type === "hidden" && f.locked.value === "true");
    const stroke = f.stroke?.value ?? "", pressure = f.pressure ? quantity(f.pressure) : "", over = this.#over;
    this.#over = "";
    this.watch.start(t, { stroke, locked });
    return { watch: this.watch.name, elapsed_ms: 0, ...(stroke && { stroke }), ...(locked && { locked }), ...(pressure && { pressure }), ...(over && { takes_over: over }) };
  }

  ended() {
    this.mark.settle();
    this.watch.end();
  }

  // type asks for the value of a mark, which may be typed before the device has the press.
  type(kept) {
    this.mark.type(this.watch.locked, (value) => this.typed(kept, value));
    this.#typing = kept;
  }

  async typed(kept, value) {
    this.#typing = null;
    this.#keeping++;
    try {
      const e = await kept;
      await outbox.change({ ...e, body: { ...e.body, ...value }, state: "kept" });
    } finally {
      this.#keeping--;
    }
    if (!this.mark.open && this.watch.running) this.keys.querySelector("[data-press='mark']").focus({ preventScroll: true });
  }

  // undoLast takes back the last press that this device keeps or the shop knows, as they are now: the list may still be on its way.
  async undoLast() {
    await this.presses.load();
    if (this.presses.last) await this.presses.undo(this.presses.last);
  }

  // undone brings the watch in line with a press that was taken back.
  async undone({ key, body, device }) {
    if ((await this.#typing)?.key === key) {
      this.#typing = null;
      this.mark.drop();
    }
    if (body.watch !== this.watch.name || device !== this.device) return;
    if (body.press === "start") await this.watch.drop();
    if (body.press === "end") await this.watch.goOn();
    turned();
    this.show();
  }

  #refreshing = null;
  #stale = false;

  // refresh brings the page in line with what the device keeps; a change that comes in meanwhile is looked at afterwards, never beside it.
  async refresh() {
    this.#stale = true;
    this.#refreshing ??= (async () => {
      while (this.#stale) {
        this.#stale = false;
        await this.redraw();
      }
    })().finally(() => { this.#refreshing = null; });
    return this.#refreshing;
  }

  #sent = -1;
  async redraw() {
    const rows = await this.presses.load();
    this.presses.draw();
    this.undo.disabled = !this.presses.last;
    const open = rows.find((r) => r.state === "typing" && !r.strike);
    if (open && !this.#typing && !this.#keeping && !this.mark.open) this.type(Promise.resolve(open.entry)); // not typed before the page was closed
    await this.watch.resume(); // another tab may have started or ended it
    await this.refused(rows);
    this.show();
    const sent = rows.filter((r) => r.state === "sent").length + rows.filter((r) => r.strike?.state === "sent").length;
    if (this.#sent >= 0 && sent !== this.#sent) this.outcome.ask();
    this.#sent = sent;
  }

  // refused stops a watch whose start the shop did not take, since another one runs.
  async refused(rows) {
    const start = rows.find((r) => r.state === "refused" && r.body.press === "start" && r.body.watch === this.watch.name && r.entry.problem?.code === "conflict");
    if (!start || !this.watch.running) return;
    await this.lose(outbox.why(start.entry.problem));
    this.shop.look();
  }

  /** heard takes over what the shop says of the hold: its presses, and the watch that runs. */
  async heard({ presses, seq }) {
    this.presses.learn(presses, seq);
    const over = this.watch.running && presses.find((p) => p.takes_over === this.watch.name && p.device !== this.device);
    if (over) await this.lose(say("takenOver", { who: over.by, where: over.on, at: new Date(over.at).toTimeString().slice(0, 5) }));
    await this.refresh();
  }

  // lose ends the watch of this device without a press, and says why.
  async lose(why) {
    this.mark.settle();
    await this.watch.drop();
    turned(performance.now()); // its keys give way to others under the hand
    this.notice(why, "lost");
  }

  /** foreign is the watch of another device that runs, null when there is none or it is to be taken over. */
  foreign() {
    const w = this.shop.runs;
    return w && w.device !== this.device && w.watch !== this.#over ? w : null;
  }

  async takeOver() {
    const w = this.foreign();
    if (!w || !(await ask(say("takeOverAsk", { who: w.by, where: w.on }), say("takeOver")))) return;
    this.#over = w.watch;
    turned();
    this.show();
    this.keys.querySelector("[data-press='start']").focus({ preventScroll: true });
  }

  counted(n) {
    this.root.querySelector("[data-judge]")?.toggleAttribute("hidden", n === 0);
  }

  beat() {
    const b = this.watch.beat();
    if (b?.slept) this.notice(say("slept", { s: b.slept }), "clock");
    else if (b?.set) this.notice(say("clockSet", { s: b.set }), "clock");
  }

  /** show brings keys, face and words in line with the watch. */
  show() {
    const w = this.watch, other = !w.running && this.foreign(), within = this.keys.contains(document.activeElement) && document.activeElement.matches("button");
    this.keys.classList.toggle("running", w.running);
    this.keys.classList.toggle("locked", w.running && w.locked);
    this.keys.classList.toggle("elsewhere", !!other);
    const hot = !w.running ? "start" : w.locked ? "mark" : this.expected();
    for (const b of this.keys.querySelectorAll("[data-press]")) b.classList.toggle("hot", b.dataset.press === hot);
    if (within && getComputedStyle(document.activeElement).visibility === "hidden") this.keys.querySelector(other ? "[data-take-over]" : `[data-press="${hot}"]`).focus({ preventScroll: true });
    const end = !w.running && this.presses.of(w.name).find((r) => r.body.press === "end");
    if (!w.running) this.face.textContent = clock(end ? end.body.elapsed_ms / 1000 : 0);
    if (other) this.elsewhere.textContent = say("runsElsewhere", { who: other.by, where: other.on, at: new Date(other.at).toTimeString().slice(0, 5) });
    this.state.textContent = w.running ? say(w.locked ? "runsLocked" : "runs", { stroke: say(this.stroke()) }) : other ? say("elsewhere") : end ? say("ended", { t: clock(end.body.elapsed_ms / 1000) }) : say("noWatch");
    this.headline();
    this.awake();
  }

  // headline says on the drawer of the presses what is in it, and opens it when something in it is to be mended.
  headline() {
    const r = this.presses.rows.find((x) => !x.struck && !x.strike), bad = this.presses.rows.some((x) => x.state === "refused" && !x.strike);
    this.drawer.querySelector("[data-presses-last]").textContent = r ? this.presses.told(r) : say("noPresses");
    if (bad) this.drawer.open = true;
  }

  // stroke is the stroke that the rod is on by the presses of this watch.
  stroke() {
    const turn = this.presses.of(this.watch.name).find((r) => ["top", "bottom"].includes(r.body.press));
    return turn ? (turn.body.press === "top" ? "down" : "up") : this.watch.stroke || "up";
  }

  expected() {
    return this.stroke() === "up" ? "top" : "bottom";
  }

  say(text) {
    this.live.textContent = text;
  }

  notice(text, id) {
    this.root.querySelector(`[data-notice="${id}"]`)?.remove();
    this.root.querySelector("[data-notices]").append(el("div", { class: "notice warn", role: "status", "data-notice": id }, icon("clock"), el("div", {}, el("p", {}, text))));
  }

  // awake keeps the screen on while a watch runs.
  async awake() {
    if (!this.watch.running) {
      this.#lock?.release().catch(() => {});
      this.#lock = null;
      return;
    }
    if (this.#lock && !this.#lock.released || document.hidden || !navigator.wakeLock) return;
    try {
      this.#lock = await navigator.wakeLock.request("screen");
    } catch { /* low battery: the watch runs on all the same */ }
  }
}
