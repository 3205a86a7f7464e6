// Keys: every key of every page behind one guard, and the block of keys of a watch.
//
// A tap, a slip, a scroll, a second finger, a mouse or a keyboard makes one press of a key or none:
//  - two presses within TWICE are one, whatever the keys: a glove touches twice;
//  - for a second after a press that put other keys in the place of those that were there, none is taken: what was meant for the old
//    key would strike the new one. It goes from one page to the next as well;
//  - a click counts for the key on which its finger went down, and for no other: what moves under a finger is not pressed;
//  - a key of the keyboard that is held down counts once.
// All times are those of the events. A pad whose keys are pressed in quick succession says so: data-quick.

const TWICE = 350, AFTER = 1000; // ms
const ROUNDING = 1; // ms by which two clocks of the browser may differ: that of the day counts whole ones
const KEY = "button, summary, [role='button'], input[type='submit']", PRESSED = "evenstroke pressed";

const downs = new Map(); // pointer → the key on which it last went down, null for none
let last = -Infinity, shut = -Infinity; // the last press taken; until when none is taken (ms of performance.now())

/** timeOf is the time of an event in ms of performance.now(); an old browser counts from elsewhere. */
export function timeOf(ev) {
  return Math.abs(performance.now() - ev.timeStamp) < 60000 ? ev.timeStamp : performance.now();
}

// counts says whether a press at a time would count, a gap after the last one.
const counts = (t, gap = TWICE) => t - last >= gap - ROUNDING && t >= shut - ROUNDING;

// took notes that a press was taken whose finger left the key at a time.
function took(t) {
  last = t;
  try {
    sessionStorage.setItem(PRESSED, String(Date.now() - (performance.now() - t)));
  } catch { /* then the next page does not know of it */ }
}

// take takes a press at a time if it counts.
function take(t) {
  if (!counts(t)) return false;
  took(t);
  return true;
}

/** turned says that the press at a time, or the last one, put other keys in the place of those that were there. */
export function turned(t = last) {
  shut = Math.max(shut, t + AFTER);
}

/** restart takes over the press that led to this page, whose keys have the place of those of the page before. */
function restart() {
  let at = NaN;
  try {
    at = Number(sessionStorage.getItem(PRESSED) ?? NaN);
  } catch { /* nothing is known of the page before */ }
  const ago = Date.now() - at;
  if (ago >= -ROUNDING && ago < AFTER) turned(performance.now() - ago);
}

const stop = (ev) => {
  ev.preventDefault();
  ev.stopImmediatePropagation();
};
const byPointer = (ev) => ev.pointerId >= 0 && ev.pointerType; // keyboards and screen readers have none, nor has a click of an old browser
const keyAt = (ev) => (ev.target instanceof Element ? ev.target.closest(KEY) : null);

function down(ev) {
  downs.set(ev.pointerId, keyAt(ev));
}

// A key of a watch is pressed by its block; all others by their click, if it counts.
function click(ev) {
  const key = keyAt(ev), quick = key?.closest("[data-quick]");
  if (!byPointer(ev)) {
    if (key && !key.dataset.press && !quick && !take(timeOf(ev))) stop(ev);
    return;
  }
  const on = downs.get(ev.pointerId) ?? null;
  if (on?.dataset.press) return stop(ev); // it was pressed as the finger left it; where the click lands is chance
  if (!key) return;
  if (on !== key || (!quick && !take(timeOf(ev)))) stop(ev);
}

function held(ev) {
  if (ev.repeat && (ev.key === "Enter" || ev.key === " ") && keyAt(ev)) stop(ev);
}

/** guard puts all keys of this page behind the guard. */
export function guard() {
  restart();
  addEventListener("pageshow", (ev) => ev.persisted && restart());
  addEventListener("pointerdown", down, true);
  addEventListener("click", click, true);
  addEventListener("keydown", held, true);
}

/**
 * Keys is a block of keys whose press counts from the moment in which the finger goes down, and is made when it leaves the same key: a
 * finger that slides off, or that the system takes away, presses nothing, and nothing moves under a finger. One finger at a time.
 */
export class Keys {
  #finger = null; // {id, key, t} while one is down on a key

  /**
   * press(name, t) makes the press of a key at a time, and says whether it was one. The keys named in turning put others in their place;
   * gap is the time in ms within which two presses are one.
   */
  constructor(block, press, { turning = [], gap = TWICE } = {}) {
    Object.assign(this, { press, turning, gap });
    block.addEventListener("pointerdown", (ev) => this.#down(ev));
    addEventListener("pointerup", (ev) => this.#up(ev), true);
    addEventListener("pointercancel", (ev) => this.#lift(ev), true);
    block.addEventListener("click", (ev) => { // what is left of clicks: those of keyboards and screen readers
      const key = this.#keyAt(ev);
      if (key) this.take(key.dataset.press, timeOf(ev));
    });
    block.addEventListener("contextmenu", (ev) => this.#keyAt(ev) && ev.preventDefault());
  }

  #keyAt(ev) {
    return ev.target.closest("[data-press]:not(:disabled)");
  }

  #down(ev) {
    const key = this.#keyAt(ev);
    if (!key) return;
    ev.preventDefault(); // the focus stays where it is
    if (ev.isPrimary) this.#lift(); // no other finger of its kind is down
    if (ev.button !== 0 || this.#finger) return;
    this.#finger = { id: ev.pointerId, key, t: timeOf(ev) };
    key.classList.add("down");
  }

  #up(ev) {
    const { id, key, t } = this.#finger ?? {};
    if (id !== ev.pointerId) return;
    this.#lift();
    if (key.contains(document.elementFromPoint(ev.clientX, ev.clientY))) this.take(key.dataset.press, t, timeOf(ev));
  }

  #lift(ev) {
    if (ev && ev.pointerId !== this.#finger?.id) return;
    this.#finger?.key.classList.remove("down");
    this.#finger = null;
  }

  /** take makes the press of a key at a time if it counts; up is when its finger left the key. */
  take(name, t, up = t) {
    if (!counts(t, this.gap) || !this.press(name, t)) return;
    took(up);
    if (this.turning.includes(name)) turned(up);
  }
}
