// PIN pad: large digits that fill the password input of its form. Without scripts the input is typed in as usual.

import { buzz, el } from "./dom.js";
import { say } from "./words.js";

/** start builds the pad of a form with data-pin. */
export function start(form) {
  const pad = form.querySelector("[data-pinpad]"), inputs = [...form.querySelectorAll("input[type=password]")];
  let input = inputs[0]; // the one that the pad fills: the last that was touched
  if (!pad || !input) return;
  for (const i of inputs) i.addEventListener("focus", () => { input = i; });
  const digit = (d) => el("button", { type: "button", class: "key", onclick: () => press(d) }, d);
  const word = (text, act) => el("button", { type: "button", class: "key word", onclick: act }, text);
  const press = (d) => {
    buzz(15);
    if (input.value.length < (input.maxLength > 0 ? input.maxLength : 64)) input.value += d;
  };
  pad.append(...["1", "2", "3", "4", "5", "6", "7", "8", "9"].map(digit), word(say("clear"), () => { input.value = ""; }), digit("0"), word(say("digitBack"), () => { input.value = input.value.slice(0, -1); }));
  pad.dataset.quick = ""; // digits follow each other quicker than presses of other keys
  pad.hidden = false;
  if (matchMedia("(pointer: coarse)").matches) for (const i of inputs) i.inputMode = "none"; // the pad stands in for the keyboard of the screen
  else input.focus();
  form.addEventListener("submit", () => setTimeout(() => { for (const i of inputs) i.readOnly = true; }));
  addEventListener("pageshow", (ev) => {
    if (!ev.persisted) return;
    for (const i of inputs) {
      i.readOnly = false;
      i.value = "";
    }
  });
}
