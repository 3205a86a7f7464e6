// Drops counted at a place for a minute: a key a drop, and the form below gets number and time.

import { buzz } from "./dom.js";
import { Keys } from "./keys.js";
import { clock, say } from "./words.js";

const MINUTE = 60, GAP = 120; // s; ms between two drops, which come quicker than two presses of other keys

/** start makes the counter of an element with data-count; with data-begin the minute begins at once, as the key that led here said. */
export function start(root) {
  const one = (s) => root.querySelector(s), form = root.closest("form"), { drops, time } = form.elements;
  let from = null, end = null, n = 0; // ms of performance.now() at which the minute began, and was over
  const elapsed = (t = performance.now()) => ((end ?? t) - from) / 1000;
  const runs = () => from !== null && end === null;

  const show = () => {
    one("[data-count-n]").textContent = n;
    one("[data-count-clock]").textContent = clock(from === null ? 0 : Math.min(MINUTE, elapsed()), false);
    one("[data-count-state]").textContent = from === null ? "" : say(runs() ? "counting" : "counted");
    one("[data-count-begin]").textContent = say(from === null ? "countBegin" : "countAgain");
    one("[data-press=drop]").disabled = !runs();
    root.classList.toggle("running", runs());
  };
  // fill writes what was counted into the form, by which it is kept and may be corrected.
  const fill = (seconds) => {
    drops.value = n;
    time.value = seconds;
    for (const f of [drops, time]) f.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const begin = (t) => {
    [from, end, n] = [t, null, 0];
    fill(MINUTE);
    show();
    return true;
  };
  const drop = (t) => {
    if (!runs() || elapsed(t) > MINUTE) return false;
    n++;
    buzz(20);
    fill(MINUTE);
    show();
    return true;
  };
  const tick = () => {
    if (runs() && elapsed() >= MINUTE) {
      end = from + 1000 * MINUTE;
      buzz([300, 150, 300]);
    }
    if (from !== null) show();
  };

  for (const b of root.querySelectorAll("[data-press]")) b.disabled = false;
  new Keys(root, (name, t) => (name === "begin" ? begin(t) : drop(t)), { gap: GAP });
  form.addEventListener("submit", () => { // kept before the minute is over: the time is that so far
    if (runs()) fill((Math.round(10 * elapsed()) / 10).toFixed(1));
  }, true);
  setInterval(tick, 250);
  root.hidden = false;
  if ("begin" in root.dataset) {
    const here = new URL(location.href);
    here.searchParams.set("check", "begun"); // opened again it does not begin again
    history.replaceState(history.state, "", here);
    begin(performance.now());
  }
  show();
}
