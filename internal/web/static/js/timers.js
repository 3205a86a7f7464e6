// Soak timers: they count down to the time written on them, and ring by sound, vibration, title and words until somebody says quiet.

import { buzz, el, icon } from "./dom.js";
import { clock, say } from "./words.js";

const RING = 4000, QUIET = "evenstroke quiet ";
const timers = new Set();
let audio = null, title = "", beat = 0, live = null;

/** start takes one element with data-ready: a small countdown, or with data-soak one that rings. */
export function start(element) {
  const t = { element, ready: Date.parse(element.dataset.ready), rings: "soak" in element.dataset, rang: 0, said: false };
  if (Number.isNaN(t.ready)) return console.error("data-ready:", element.dataset.ready);
  t.face = element.querySelector("[data-soak-left]") ?? element;
  t.quiet = element.querySelector("[data-soak-quiet]");
  t.quiet?.addEventListener("click", () => silence(t));
  timers.add(t);
  live ??= document.body.appendChild(el("p", { class: "sr", role: "status", "aria-live": "assertive" }));
  if (!beat) {
    beat = setInterval(tick, 500);
    title = document.title;
    for (const ev of ["pointerdown", "keydown"]) addEventListener(ev, unlock, { once: true, capture: true });
    document.addEventListener("visibilitychange", tick);
  }
  tick();
  return undefined;
}

// unlock opens the sound at the first touch: a page that nobody has touched may not make any.
function unlock() {
  try {
    audio ??= new AudioContext();
    audio.resume();
  } catch { /* no sound here: the rest rings */ }
}

const id = (t) => QUIET + (t.element.dataset.id ?? t.element.dataset.ready);

function isQuiet(t) {
  try {
    return localStorage.getItem(id(t)) !== null;
  } catch {
    return t.hushed === true;
  }
}

function silence(t) {
  t.hushed = true;
  try {
    localStorage.setItem(id(t), String(Date.now()));
    for (const k of Object.keys(localStorage)) { // forget those of last week
      if (k.startsWith(QUIET) && Date.now() - Number(localStorage.getItem(k)) > 7 * 86400e3) localStorage.removeItem(k);
    }
  } catch { /* then it is quiet on this page */ }
  buzz(0);
  tick();
}

function tick() {
  let ringing = null;
  for (const t of timers) {
    if (!t.element.isConnected) {
      timers.delete(t);
      continue;
    }
    const left = (t.ready - Date.now()) / 1000;
    const text = left > 0 ? clock(Math.ceil(left), false) : t.rings ? clock(0, false) : say("ready");
    if (t.face.textContent !== text) t.face.textContent = text;
    const over = left <= 0;
    t.element.classList.toggle("ready", over);
    if (!t.rings || !over) continue;
    const hush = isQuiet(t);
    if (t.quiet) t.quiet.hidden = hush;
    if (hush) continue;
    ringing = t;
    if (Date.now() - t.rang > RING) {
      t.rang = Date.now();
      ring();
    }
    if (!t.said) {
      t.said = true;
      live.textContent = say("readySay", { name: t.element.dataset.name ?? "" });
      const word = t.element.querySelector(".soak-word");
      if (word) word.replaceChildren(icon("bell"), ` ${say("ready")}`);
    }
  }
  const flash = ringing && Math.floor(Date.now() / 1000) % 2 === 0;
  const want = flash ? `● ${say("readyTitle", { name: ringing.element.dataset.name ?? "" })}` : title;
  if (document.title !== want) document.title = want;
}

function ring() {
  buzz([300, 150, 300, 150, 300]);
  if (audio?.state !== "running") return;
  for (let i = 0; i < 3; i++) {
    const at = audio.currentTime + 0.35 * i, tone = audio.createOscillator(), loud = audio.createGain();
    tone.type = "square";
    tone.frequency.value = i === 1 ? 1175 : 880;
    loud.gain.setValueAtTime(0.0001, at);
    loud.gain.exponentialRampToValueAtTime(0.35, at + 0.02);
    loud.gain.exponentialRampToValueAtTime(0.0001, at + 0.28);
    tone.connect(loud).connect(audio.destination);
    tone.start(at);
    tone.stop(at + 0.3);
  }
}
