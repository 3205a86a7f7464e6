// Single keys of the keyboard for the keys of a watch. They can be switched off (WCAG 2.1.4).

import { el } from "./dom.js";
import { timeOf } from "./keys.js";
import { say } from "./words.js";

const OFF = "evenstroke hotkeys", FLASH = 120; // ms for which a key shows that it was pressed

const names = (b) => (b.dataset.hotkey ?? "").split(" ").filter(Boolean);
const writes = (e) => e.isContentEditable || (e.matches?.("input, textarea, select") && !["radio", "checkbox"].includes(e.type));

/** hotkeys lets the keyboard press the buttons of a block; the switch stands in foot, and typing is the input of a mark. */
export function hotkeys(block, buttons, foot, typing) {
  for (const b of buttons) {
    for (const h of names(b)) b.append(el("kbd", { "aria-hidden": "true" }, h));
    if (names(b).length) b.setAttribute("aria-keyshortcuts", names(b).join(" ").toUpperCase());
  }
  const on = switchOf(buttons, foot);
  document.addEventListener("keydown", (ev) => {
    if (ev.repeat || ev.ctrlKey || ev.metaKey || ev.altKey || ev.defaultPrevented || !on()) return;
    const b = buttons.find((x) => names(x).includes(ev.key.toLowerCase()) && getComputedStyle(x).visibility !== "hidden" && x.offsetParent);
    if (!b || (writes(ev.target) && !meant(ev.target, b, typing()))) return;
    ev.preventDefault();
    b.classList.add("down");
    setTimeout(() => b.classList.remove("down"), FLASH);
    block.take(b.dataset.press, timeOf(ev));
  });
}

// meant says of a letter in the input of a mark that it is a key of the watch: no unit is typed before a number, and none begins with
// the letter of the end.
const meant = (target, b, input) => target === input && (!/\d/.test(target.value) || (b.dataset.press === "end" && /^[\d.,\s]*$/.test(target.value)));

function switchOf(buttons, foot) {
  if (!matchMedia("(hover: hover) and (pointer: fine)").matches) {
    foot.classList.add("no-hotkeys");
    return () => false;
  }
  const box = el("input", { type: "checkbox" }), letters = buttons.flatMap((b) => names(b)).join(" ").toUpperCase();
  box.checked = stored();
  const apply = () => foot.classList.toggle("no-hotkeys", !box.checked);
  box.addEventListener("change", () => {
    apply();
    try {
      localStorage.setItem(OFF, box.checked ? "on" : "off");
    } catch { /* then it holds for this page */ }
  });
  foot.querySelector("[data-hotkeys-here]").append(el("label", { class: "check hotkeys" }, box, el("span", {}, el("b", {}, say("hotkeys", { letters })))));
  apply();
  return () => box.checked;
}

function stored() {
  try {
    return localStorage.getItem(OFF) !== "off";
  } catch {
    return true;
  }
}
