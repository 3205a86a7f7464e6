// A watch: the time since its start, by a clock that is never set, and carried over a reload by the clock of the device.

import { drop, get, put } from "./db.js";

const LONGEST = 12 * 3600e3; // ms; a watch forgotten for longer is not taken up again
const JUMP = 1500; // ms between the two clocks that cannot be chance
const SAVE = 5; // beats between two savings
const GAP = 3000; // ms between two beats that say that the page stood still

/** Watch is one watch of one hold of one job on this device. */
export class Watch {
  #from = 0; // performance.now() at the start
  #beat = null;
  #beats = 0;
  #changes = 0; // of this watch, here

  constructor(id) {
    this.id = id; // job and hold
    this.clear();
  }

  clear() {
    Object.assign(this, { name: "", stroke: "", locked: false, running: false, startEpoch: 0 });
  }

  /** start starts a new watch at the time t of performance.now(). */
  start(t, { stroke, locked }) {
    this.#changes++;
    this.#from = t;
    Object.assign(this, { name: `w${Math.round(performance.timeOrigin + t).toString(36)}`, stroke, locked, running: true });
    this.startEpoch = Date.now() - (performance.now() - t);
    this.#mark();
    return this.#save();
  }

  /** end stops the watch; it can be taken up again as long as no other is started. */
  end() {
    this.#changes++;
    this.running = false;
    return this.#save();
  }

  /** goOn takes back an end. */
  goOn() {
    this.#changes++;
    this.running = true;
    this.#mark();
    return this.#save();
  }

  /** drop forgets the watch. */
  drop() {
    this.#changes++;
    this.clear();
    return drop("watches", this.id);
  }

  /** elapsed is the time since the start in ms at the time t of performance.now(). */
  elapsed(t = performance.now()) {
    return Math.max(0, t - this.#from);
  }

  /** resume takes up what the device kept: "" for nothing, "same", "reloaded", or "back" when the clock went back meanwhile. */
  async resume() {
    const before = this.#changes, kept = await get("watches", this.id);
    if (before !== this.#changes) return "same"; // it was started or ended while the device looked: what it found is older
    if (!kept || Date.now() - kept.startEpoch > LONGEST) {
      if (this.name) this.clear();
      return "";
    }
    if (kept.name === this.name && kept.running === this.running) return "same";
    const { name, stroke, locked, running, startEpoch } = kept;
    Object.assign(this, { name, stroke, locked, running, startEpoch });
    this.#from = performance.now() - (Date.now() - startEpoch);
    this.#mark();
    if (!running) return "same";
    return Date.now() < kept.seen - JUMP ? "back" : "reloaded";
  }

  /**
   * beat compares the two clocks; to be called every second. {slept: s} when the device stood still and the time was added,
   * {set: s} when its clock was set and the watch was left alone, null when nothing happened.
   */
  beat() {
    const now = performance.now(), date = Date.now();
    if (!this.#beat || !this.running) {
      this.#mark();
      return null;
    }
    const here = now - this.#beat.now, away = date - this.#beat.date, jump = away - here;
    const stood = here > GAP || this.#beat.hidden || document.hidden;
    this.#mark();
    if (Math.abs(jump) < JUMP) {
      if (++this.#beats % SAVE === 0) this.#save();
      return null;
    }
    if (jump > 0 && stood) {
      this.#from -= jump;
      this.#save();
      return { slept: Math.round(jump / 1000) };
    }
    this.startEpoch += jump;
    this.#save();
    return { set: Math.round(jump / 1000) };
  }

  #mark() {
    this.#beat = { now: performance.now(), date: Date.now(), hidden: document.hidden };
  }

  #save() {
    const { id, name, stroke, locked, running, startEpoch } = this;
    return put("watches", { id, name, stroke, locked, running, startEpoch, seen: Date.now() });
  }
}
