// The live hold: large keys, a running watch, presses that are kept before they are sent, and the outcome as it grows.
//
// The time of a press is that of the event (the finger going down, the key of the keyboard), never that of the typing after it.

import { buzz, el, icon, quantity } from "./dom.js";
import * as outbox from "./outbox.js";
import { Outcome } from "./outcome.js";
import { Presses } from "./presses.js";
import { Watch } from "./watch.js";
import { clock, say } from "./words.js";

const TWICE = 350, AFTER_START = 800; // ms in which a second press of a key, or one on what took the place of Start, is a slip
const HOTKEYS = "evenstroke hotkeys";

/** start makes the page of a hold live. */
export function start(root) {
  if (root.querySelector("[data-hold-keys]")) new Hold(root).begin(); // a closed job has no keys
}

class Hold {
  #pressed = new Map(); // key → time of its last press
  #typing = null; // the mark whose value is being typed, as soon as this device has it
  #keeping = 0; // marks whose value is typed and not yet kept
  #lock = null;

  constructor(root) {
    const one = (s) => root.querySelector(s);
    Object.assign(this, {
      root, hold: root.dataset.hold, job: document.body.dataset.job, url: root.dataset.entriesUrl ?? document.body.dataset.entriesUrl,
      setup: one("[data-hold-setup]"), face: one("[data-hold-clock]"), state: one("[data-hold-state]"), live: one("[data-hold-say]"),
      keys: one("[data-hold-keys]"), mark: one("[data-hold-mark]"), undo: one("[data-undo]"),
    });
    this.watch = new Watch(`${this.job} ${this.hold}`);
    this.presses = new Presses(one("[data-presses]"), { job: this.job, hold: this.hold, url: this.url, said: (t) => this.say(t) });
    this.presses.onundo = (r) => this.undone(r);
    this.outcome = new Outcome(one("#outcome"), one("[data-outcome-age]"), root.dataset.lookUrl, { watch: this.watch, said: (t) => this.say(t) });
  }

  async begin() {
    const how = await this.watch.resume();
    if (how === "reloaded" || how === "back") this.notice(how === "back" ? "clockBack" : "reloaded", {}, how);
    this.listen();
    outbox.listen(() => this.refresh());
    await this.refresh();
    this.show();
    setInterval(() => this.beat(), 1000);
    setInterval(() => this.outcome.tick(), 250);
    const frame = () => {
      if (this.watch.running) this.face.textContent = clock(this.watch.elapsed() / 1000);
      requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
    if (this.watch.running) this.outcome.ask();
  }

  listen() {
    for (const b of this.buttons()) {
      b.disabled = false;
      for (const h of (b.dataset.hotkey ?? "").split(" ").filter(Boolean)) b.append(el("kbd", { "aria-hidden": "true" }, h));
      if (b.dataset.hotkey) b.setAttribute("aria-keyshortcuts", b.dataset.hotkey.replace("space", "Space").toUpperCase());
      let finger = false; // a click that ends a press of the finger is no press of its own
      b.addEventListener("pointerdown", (ev) => {
        if (ev.button !== 0 || !ev.isPrimary) return;
        ev.preventDefault(); // the focus stays for the input of a mark
        finger = true;
        this.press(b.dataset.press, ev, true);
      });
      b.addEventListener("click", (ev) => finger || this.press(b.dataset.press, ev, false)); // keyboard and screen readers
      for (const over of ["pointerup", "pointercancel"]) {
        addEventListener(over, () => finger && setTimeout(() => { finger = false; }, 60));
      }
      b.addEventListener("pointerup", () => this.#typing && this.focusMark());
    }
    document.addEventListener("keydown", (ev) => this.hotkey(ev));
    this.setup?.addEventListener("submit", (ev) => ev.preventDefault());
    this.mark.addEventListener("submit", (ev) => {
      ev.preventDefault();
      this.typed(true);
    });
    this.mark.querySelector("[data-mark-without]")?.addEventListener("click", () => this.typed(false));
    this.undo?.addEventListener("click", () => this.presses.last && this.presses.undo(this.presses.last));
    document.addEventListener("visibilitychange", () => {
      if (document.hidden) return;
      this.beat();
      this.awake();
      if (this.watch.running) this.outcome.ask();
    });
    this.hotkeySwitch();
  }

  buttons() {
    return [...this.keys.querySelectorAll("[data-press]")];
  }

  // The single keys of the keyboard can be switched off (WCAG 2.1.4).
  hotkeySwitch() {
    if (!matchMedia("(hover: hover) and (pointer: fine)").matches) return this.root.classList.add("no-hotkeys");
    const box = el("input", { type: "checkbox" }), letters = this.buttons().map((b) => (b.dataset.hotkey ?? "").split(" ")[0].toUpperCase()).join(" ");
    const stored = () => {
      try {
        return localStorage.getItem(HOTKEYS) !== "off";
      } catch {
        return true;
      }
    };
    const apply = () => this.root.classList.toggle("no-hotkeys", !box.checked);
    box.checked = stored();
    box.addEventListener("change", () => {
      apply();
      try {
        localStorage.setItem(HOTKEYS, box.checked ? "on" : "off");
      } catch { /* then it holds for this page */ }
    });
    this.root.querySelector(".hold-left").append(el("label", { class: "check hotkeys" }, box, el("span", {}, el("b", {}, say("hotkeys", { letters })))));
    apply();
    return undefined;
  }

  hotkey(ev) {
    if (ev.repeat || ev.ctrlKey || ev.metaKey || ev.altKey || ev.defaultPrevented || this.root.classList.contains("no-hotkeys")) return;
    const t = ev.target, control = t.closest?.("a, button, summary, label");
    if (t.isContentEditable || (t.matches?.("input, textarea, select") && !["radio", "checkbox"].includes(t.type))) return;
    const name = ev.key === " " ? "space" : ev.key.toLowerCase();
    if (name === "space" && (control || t.matches?.("input"))) return;
    const b = this.buttons().find((x) => (x.dataset.hotkey ?? "").split(" ").includes(name) && x.offsetParent !== null);
    if (!b) return;
    ev.preventDefault();
    b.classList.add("down");
    setTimeout(() => b.classList.remove("down"), 120);
    this.press(b.dataset.press, ev, true);
  }

  recent(press, ms, t = performance.now()) {
    return t - (this.#pressed.get(press) ?? -1e9) < ms;
  }

  /** press takes one press at the time of its event. */
  async press(press, ev, guarded) {
    let t = ev.timeStamp;
    if (!(Math.abs(performance.now() - t) < 5000)) t = performance.now(); // an old browser counts from elsewhere
    if (this.recent(press, TWICE, t) || (guarded && press !== "start" && this.recent("start", AFTER_START, t))) return;
    if ((press === "start") === this.watch.running) return;
    this.#pressed.set(press, t);
    buzz(press === "end" ? [40, 60, 40] : 40);
    const body = { hold: this.hold, press };
    if (press === "start") Object.assign(body, this.begun(t));
    else Object.assign(body, { watch: this.watch.name, elapsed_ms: Math.round(this.watch.elapsed(t)) });
    if (press === "end") this.watch.end();
    if (press === "start") this.outcome.ask();
    this.show();
    const at = new Date(Date.now() - (performance.now() - t)).toISOString();
    const open = press === "mark" && this.openMark();
    const kept = outbox.add({ url: this.url, job: this.job, kind: "pressed", at, body, state: open ? "typing" : "kept" });
    if (open) this.#typing = kept; // the value may be typed before the device has the press
    await kept;
    const time = clock(body.elapsed_ms / 1000);
    this.say(press === "start" ? say("saidStart") : press === "end" ? say("saidEnd", { t: time }) : say("saidPress", { what: say(press), t: time }));
  }

  // begun starts a new watch and gives what the start says.
  begun(t) {
    const f = this.setup?.elements ?? {}, locked = !!(f.locked?.checked || f.locked?.type === "hidden" && f.locked.value === "true");
    const stroke = f.stroke?.value ?? "", pressure = f.pressure ? quantity(f.pressure) : "";
    this.watch.start(t, { stroke, locked });
    return { watch: this.watch.name, elapsed_ms: 0, ...(stroke && { stroke }), ...(locked && { locked }), ...(pressure && { pressure }) };
  }

  // openMark shows the input of a mark; one still open is kept first with what stands in it.
  openMark() {
    if (this.#typing) this.typed(this.input()?.value.trim() !== "");
    for (const f of this.mark.querySelectorAll("[data-for]")) f.hidden = f.dataset.for !== (this.watch.locked ? "pressure" : "rod");
    this.mark.querySelector(".error").hidden = true;
    if (!this.input()) return false;
    this.input().value = "";
    this.mark.hidden = false;
    this.focusMark();
    return true;
  }

  input() {
    return this.mark.querySelector("[data-for]:not([hidden]) input");
  }

  focusMark() {
    this.input()?.focus();
    this.mark.scrollIntoView({ block: "nearest" });
  }

  /** typed keeps the value of the open mark, or its time only. */
  async typed(withValue) {
    const typing = this.#typing, input = this.input();
    if (!typing) return;
    if (withValue && !/\d/.test(input.value)) {
      const error = this.mark.querySelector(".error");
      error.textContent = say("typeNumber");
      error.hidden = false;
      input.setAttribute("aria-invalid", "true");
      input.setAttribute("aria-describedby", error.id);
      return;
    }
    input.removeAttribute("aria-invalid");
    const value = withValue ? { [input.name]: quantity(input) } : {};
    this.#typing = null;
    this.mark.hidden = true;
    this.#keeping++;
    try {
      const e = await typing;
      e.body = { ...e.body, ...value };
      e.state = "kept";
      await outbox.change(e);
    } finally {
      this.#keeping--;
    }
    if (!this.mark.hidden) return; // the next mark is being typed
    this.keys.querySelector("[data-press='mark']")?.focus({ preventScroll: true });
  }

  // undone brings the watch in line with a press that was taken back.
  async undone({ key, body }) {
    if ((await this.#typing)?.key === key) {
      this.#typing = null;
      this.mark.hidden = true;
    }
    if (body.watch !== this.watch.name) return;
    if (body.press === "start") await this.watch.drop();
    if (body.press === "end") await this.watch.goOn();
    this.show();
  }

  #sent = -1;
  async refresh() {
    const rows = await this.presses.load();
    this.presses.draw();
    if (this.undo) this.undo.disabled = !this.presses.last;
    const open = rows.find((r) => r.state === "typing" && !r.strike);
    if (open && !this.#typing && !this.#keeping && this.mark.hidden && this.openMark()) this.#typing = open.entry; // not typed before the page was closed
    await this.watch.resume(); // another tab may have started or ended it
    this.show();
    const sent = rows.filter((r) => r.state === "sent").length + rows.filter((r) => r.strike?.state === "sent").length;
    if (this.#sent >= 0 && sent !== this.#sent) this.outcome.ask();
    this.#sent = sent;
  }

  beat() {
    const b = this.watch.beat();
    if (b?.slept) this.notice("slept", { s: b.slept }, "clock");
    else if (b?.set) this.notice("clockSet", { s: b.set }, "clock");
  }

  /** show brings keys, face and words in line with the watch. */
  show() {
    const w = this.watch;
    this.keys.classList.toggle("running", w.running);
    this.keys.classList.toggle("locked", w.running && w.locked);
    if (this.setup) this.setup.hidden = w.running;
    const hot = !w.running ? "start" : w.locked ? "mark" : this.expected();
    for (const b of this.buttons()) b.classList.toggle("hot", b.dataset.press === hot);
    const end = !w.running && this.presses.rows.find((r) => r.body.watch === w.name && r.body.press === "end" && !r.strike && !r.struck);
    if (!w.running) this.face.textContent = clock(end ? end.body.elapsed_ms / 1000 : 0);
    this.state.textContent = w.running ? say(w.locked ? "runsLocked" : "runs", { stroke: say(this.stroke()) }) : end ? say("ended", { t: clock(end.body.elapsed_ms / 1000) }) : say("noWatch");
    this.awake();
  }

  // stroke is the stroke that the rod is on by the presses of this watch.
  stroke() {
    const turn = this.presses.rows.find((r) => r.body.watch === this.watch.name && ["top", "bottom"].includes(r.body.press) && !r.strike && !r.struck && r.state !== "refused");
    return turn ? (turn.body.press === "top" ? "down" : "up") : this.watch.stroke || "up";
  }

  expected() {
    return this.stroke() === "up" ? "top" : "bottom";
  }

  say(text) {
    if (this.live) this.live.textContent = text;
  }

  notice(key, args, id) {
    this.root.querySelector(`[data-notice="${id}"]`)?.remove();
    this.root.querySelector(".hold-left").prepend(el("div", { class: "notice warn", role: "status", "data-notice": id }, icon("clock"), el("div", {}, el("p", {}, say(key, args)))));
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
