// What is wrong with a field is said beside it, in the language of the page, where the browser would say it in its own, in a bubble.

import { el } from "./dom.js";
import { say } from "./words.js";

// why says what is wrong with a field.
function why(f) {
  const v = f.validity;
  if (v.valueMissing) return say(f.type === "radio" || f.tagName === "SELECT" ? "needChoice" : f.type === "checkbox" ? "needCheck" : "needValue");
  if (v.tooShort) return say("needLonger", { n: f.minLength });
  if (v.rangeUnderflow) return say("needAtLeast", { n: f.min });
  if (v.rangeOverflow) return say("needAtMost", { n: f.max });
  return say(f.type === "number" || v.badInput || v.stepMismatch ? "needNumber" : f.inputMode === "numeric" ? "needDigits" : "needOther");
}

const place = (f) => f.closest(".field, fieldset") ?? f.parentElement;

function tell(f) {
  const box = place(f), id = `${f.id || f.name}-needed`;
  let p = box.querySelector(":scope > .error[data-needed]");
  if (!p) box.append((p = el("p", { class: "error", id, "data-needed": true })));
  p.textContent = why(f);
  f.setAttribute("aria-invalid", "true");
  const by = (f.getAttribute("aria-describedby") ?? "").split(" ").filter((x) => x && x !== p.id);
  f.setAttribute("aria-describedby", [...by, p.id].join(" "));
}

function clear(f) {
  const p = place(f)?.querySelector(":scope > .error[data-needed]");
  if (!p || !f.validity?.valid) return;
  p.remove();
  for (const x of place(f).querySelectorAll("[aria-invalid]")) x.removeAttribute("aria-invalid");
}

/** required lets all forms of this page say what they need in the words of the page. */
export function required() {
  document.addEventListener("invalid", (ev) => {
    const f = ev.target;
    ev.preventDefault();
    tell(f);
    if ([...f.form.elements].find((x) => x.willValidate && !x.validity.valid) !== f) return; // the first is the one to begin with
    place(f).scrollIntoView({ block: "center" });
    f.focus({ preventScroll: true });
  }, true);
  for (const kind of ["input", "change"]) document.addEventListener(kind, (ev) => ev.target.matches?.("input, select, textarea") && clear(ev.target));
}
