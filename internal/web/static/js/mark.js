// The value of a mark, typed after its press: the time of the mark is that of the press and stays, whatever becomes of the value.

import { quantity } from "./dom.js";
import { say } from "./words.js";

/** Mark is the form below the keys of a watch. */
export class Mark {
  #done = null; // takes the value of the mark that is being typed, {} for none

  constructor(form) {
    this.form = form;
    form.addEventListener("submit", (ev) => {
      ev.preventDefault();
      this.keep();
    });
    form.querySelector("[data-mark-without]").addEventListener("click", () => this.close({}));
    form.addEventListener("keydown", (ev) => {
      if (ev.key !== "Escape") return;
      ev.preventDefault();
      this.close({});
    });
  }

  get open() {
    return this.#done !== null;
  }

  get input() {
    return this.form.querySelector("[data-for]:not([hidden]) input");
  }

  /** type asks for the value of a mark: the pressure when the rod is locked, else the rod. done gets it. */
  type(locked, done) {
    this.settle();
    for (const f of this.form.querySelectorAll("[data-for]")) f.hidden = f.dataset.for !== (locked ? "pressure" : "rod");
    this.#wrong("");
    this.input.value = "";
    this.form.hidden = false;
    this.#done = done;
    this.input.focus({ preventScroll: true });
    this.form.scrollIntoView({ block: "nearest" });
  }

  /** keep keeps what is typed, if it is a number. */
  keep() {
    if (!/\d/.test(this.input.value)) return this.#wrong(say("typeNumber"));
    return this.close({ [this.input.name]: quantity(this.input) });
  }

  /** settle closes the form: what is typed is kept, else the time only. */
  settle() {
    if (this.open) this.close(/\d/.test(this.input.value) ? { [this.input.name]: quantity(this.input) } : {});
  }

  /** close closes the form and gives the value. */
  close(value) {
    const done = this.#done;
    this.#done = null;
    this.form.hidden = true;
    done?.(value);
  }

  /** drop closes the form of a mark that is none any more. */
  drop() {
    this.#done = null;
    this.form.hidden = true;
  }

  #wrong(text) {
    const error = this.form.querySelector(".error"), input = this.input;
    error.textContent = text;
    error.hidden = text === "";
    input.toggleAttribute("aria-invalid", false);
    input.removeAttribute("aria-describedby");
    if (!text) return;
    input.setAttribute("aria-invalid", "true");
    input.setAttribute("aria-describedby", error.id);
  }
}
