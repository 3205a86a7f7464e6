// The present outcome of a hold: asked for while a watch runs, swapped in place, with its age when there is no answer.

import { say } from "./words.js";

const EVERY = 5000, OLD = 12000, TIMEOUT = 15000;

/** Outcome keeps the part of the page that says what the hold has proven so far. */
export class Outcome {
  #asking = null;
  #wanted = false;
  #asked = -Infinity;
  #failed = false;
  #zero = false;

  constructor(box, age, url, { watch, stroke, said, counted }) {
    Object.assign(this, { box, age, url, watch, stroke, said, counted });
    this.at = performance.now();
    this.word = this.#word();
  }

  #word() {
    return this.box.querySelector(".verdict-word")?.textContent ?? "";
  }

  /** ask fetches the outcome; a question that comes in meanwhile is asked afterwards. */
  async ask() {
    if (this.#asking) {
      this.#wanted = true;
      return;
    }
    const stop = new AbortController(), late = setTimeout(() => stop.abort(), TIMEOUT);
    const url = new URL(this.url, location.href);
    if (this.watch.running) {
      url.searchParams.set("watch", this.watch.name);
      url.searchParams.set("elapsed_ms", String(Math.round(this.watch.elapsed())));
    }
    const asked = performance.now();
    this.#asked = asked;
    this.#asking = fetch(url, { headers: { Accept: "text/html", "HX-Request": "true" }, credentials: "same-origin", redirect: "manual", cache: "no-store", signal: stop.signal });
    try {
      const response = await this.#asking;
      if (!response.ok) throw new Error(`${response.status}`);
      this.#swap(await response.text(), asked);
      this.#failed = false;
    } catch {
      this.#failed = true;
    } finally {
      clearTimeout(late);
      this.#asking = null;
    }
    if (this.#wanted) {
      this.#wanted = false;
      this.ask();
    }
  }

  #swap(html, asked) {
    const t = document.createElement("template");
    t.innerHTML = html; // from this server; scripts in it do not run
    const focus = this.box.contains(document.activeElement) ? document.activeElement.id || document.activeElement.getAttribute("href") : null;
    const open = new Set([...this.box.querySelectorAll("details[open][id]")].map((d) => d.id));
    this.box.replaceChildren(t.content);
    for (const d of this.box.querySelectorAll("details[id]")) if (open.has(d.id)) d.open = true;
    if (focus) this.box.querySelector(`[id="${CSS.escape(focus)}"], [href="${CSS.escape(focus)}"]`)?.focus();
    this.at = asked;
    this.#zero = false;
    this.counted(Number(this.box.querySelector("[data-readings]")?.dataset.readings ?? 0));
    const word = this.#word();
    if (word && word !== this.word) this.said(word);
    this.word = word;
  }

  /** tick counts down what is still needed, shows the age of what stands there and asks again when it is time. */
  tick() {
    const now = performance.now();
    if (this.watch.running) {
      for (const need of this.box.querySelectorAll("[data-need-seconds]")) {
        need.hidden = !["", this.stroke()].includes(need.dataset.needStroke); // the watch brings no other stroke nearer
        if (need.hidden) continue;
        const left = Math.max(0, Number(need.dataset.needSeconds) - (now - this.at) / 1000);
        const text = `${Math.ceil(left)} s`;
        if (need.textContent !== text) need.textContent = text;
        if (left === 0 && !this.#zero) {
          this.#zero = true;
          this.ask();
        }
      }
      if (!this.#asking && now - this.#asked >= EVERY) this.ask();
    }
    const old = this.#failed || (this.watch.running && now - this.at > OLD);
    this.age.hidden = !old;
    if (old) {
      const s = Math.floor((now - this.at) / 1000);
      const text = say(this.#failed ? "age" : "ageWait", { age: s < 90 ? `${s} s` : `${Math.round(s / 60)} min` });
      if (this.age.textContent !== text) this.age.textContent = text;
    }
  }
}
