// The outbox: every entry is kept on this device first and then sent, in order, one at a time, until the shop has it.
//
// States of an entry: "typing" (its value is still to be typed), "kept" (to be sent), "sent" (the shop answered with its number),
// "refused" (the shop said why; it stays until somebody mends it or leaves it out), "left" (left out by a person).

import { all, drop, durable, put } from "./db.js";
import { uuid } from "./dom.js";

const FIRST_WAIT = 1000, LONGEST_WAIT = 30000, TIMEOUT = 20000, KEEP_SENT = 48 * 3600e3;
const ears = new Set();
const channel = "BroadcastChannel" in window ? new BroadcastChannel("evenstroke-outbox") : null;
let running = null, again = false, wait = FIRST_WAIT, timer = 0;
let trouble = ""; // "", "network", "server", "signin"

/** person is the number of who is signed in, "" for nobody. */
export const person = () => document.body.dataset.person ?? "";

/** status tells why entries wait: "" when nothing is wrong. */
export const status = () => trouble;

/** listen calls f after every change, here or in another tab; the result stops it. */
export function listen(f) {
  ears.add(f);
  return () => ears.delete(f);
}

function changed() {
  channel?.postMessage("changed");
  for (const f of ears) f();
}

/** list returns the entries of this device, oldest first, for which want is true. */
export async function list(want = () => true) {
  return (await all("entries")).filter(want);
}

/**
 * add keeps an entry and starts to send it. what: {url, kind, body, at, job, key, corrects, of, state}; of is the key of the entry
 * that a "struck" takes out. Resolves when the device has it.
 */
export async function add(what) {
  const e = { key: uuid(), at: new Date().toISOString(), person: person(), state: "kept", job: document.body.dataset.job ?? "", ...what };
  await put("entries", e);
  changed();
  flush();
  return e;
}

/** change keeps an entry that was changed (a value typed later, a refused one mended) and sends it when it is to be sent. */
export async function change(e) {
  await put("entries", e);
  changed();
  if (e.state === "kept") flush();
}

/** forget takes an entry that was refused, or not yet sent for want of a value, out of the outbox; with the start of a watch go its presses. */
export async function forget(e) {
  for (const x of await all("entries")) {
    if (x.key === e.key || (startOf(e, x) && x.state !== "sent")) await put("entries", { ...x, state: "left" });
  }
  changed();
}

// startOf says that an entry is the start of the watch that another is a press of.
const startOf = (e, x) => e.kind === "pressed" && x.kind === "pressed" && e.body.press === "start" && x.body.press !== "start" && e.job === x.job &&
  e.body.hold === x.body.hold && e.body.watch === x.body.watch;

/** strike takes an entry out of the record: what was never part of it is left out, what was or may be is struck by an entry of its own. */
export async function strike(e, reason, url) {
  if (e.state === "refused" || e.state === "typing") return forget(e);
  return add({ url: url ?? e.url, job: e.job, kind: "struck", of: e.key, body: { seq: e.seq ?? 0, reason } });
}

/** flush sends what waits; called again while it runs, it goes round once more. */
export function flush() {
  if (running) {
    again = true;
    return running;
  }
  clearTimeout(timer);
  timer = 0;
  running = locked(pass).catch((err) => {
    console.error("outbox:", err);
    return "network";
  }).then((result) => {
    running = null;
    settle(result);
    if (again && !result) {
      again = false;
      return flush();
    }
    again = false;
    return undefined;
  });
  return running;
}

// locked lets one tab send at a time; without locks the key of an entry still makes the shop take it once.
const locked = (work) => (navigator.locks ? navigator.locks.request("evenstroke-outbox", work) : work());

function settle(result) {
  if (trouble !== result) {
    trouble = result;
    changed();
  }
  if (result === "network" || result === "server") {
    timer = setTimeout(flush, wait * (0.8 + 0.4 * Math.random()));
    wait = Math.min(2 * wait, LONGEST_WAIT);
  } else {
    wait = FIRST_WAIT;
  }
}

// pass sends all that can be sent; "" when nothing is left, else what is in the way.
async function pass() {
  for (;;) {
    const entries = await all("entries");
    const e = entries.find((x) => x.state === "kept" && x.person === person() && !blocked(x, entries));
    if (!e) return "";
    if (e.kind === "struck" && e.of) {
      const target = entries.find((x) => x.key === e.of);
      if (target && target.state !== "sent") { // refused or left out: there is nothing to strike
        await forget(e);
        if (target.state === "refused") await forget(target);
        continue;
      }
      if (target) e.body = { ...e.body, seq: target.seq };
    }
    const bad = await send(e);
    if (bad) return bad;
    changed();
  }
}

// blocked says that an entry refers to one that the shop does not have yet: a strike to what it takes out, a press to the start of its watch.
const blocked = (e, entries) => (e.kind === "struck" && e.of && entries.some((x) => x.key === e.of && (x.state === "kept" || x.state === "typing"))) ||
  entries.some((x) => startOf(x, e) && (x.state === "kept" || x.state === "refused"));

// send posts one entry and keeps the answer; a word when it must be tried again later.
async function send(e) {
  const stop = new AbortController();
  const late = setTimeout(() => stop.abort(), TIMEOUT);
  let response, answer;
  try {
    const data = { key: e.key, at: e.at, kind: e.kind, body: e.body };
    if (e.corrects) data.corrects = e.corrects;
    response = await fetch(e.url, {
      method: "POST", body: JSON.stringify(data), credentials: "same-origin", redirect: "manual", cache: "no-store", signal: stop.signal,
      headers: { "Content-Type": "application/json", Accept: "application/json, application/problem+json", "Idempotency-Key": e.key },
    });
    answer = await response.json().catch(() => null);
  } catch {
    return "network";
  } finally {
    clearTimeout(late);
  }
  if (response.ok) {
    if (!Number.isInteger(answer?.seq)) return "server"; // not the shop: a sign-in page of a network answers 200 as well
    await put("entries", { ...e, state: "sent", seq: answer.seq, problem: null, sentAt: Date.now() });
    return "";
  }
  if (response.status === 401 || response.type === "opaqueredirect") return "signin";
  if (response.status >= 500 || [408, 425, 429].includes(response.status)) {
    const after = Number(response.headers.get("Retry-After"));
    if (after > 0) wait = Math.max(wait, Math.min(1000 * after, LONGEST_WAIT));
    return "server";
  }
  await put("entries", { ...e, state: "refused", problem: answer ?? { title: `${response.status}`, code: "" } });
  return "";
}

/** why says in one line why an entry was refused. */
export function why(problem) {
  return problem?.detail || problem?.title || ""; // the detail is whole, and in the language of the person
}

async function tidy() {
  for (const e of await all("entries")) {
    const done = e.state === "left" || (e.state === "sent" && Date.now() - e.sentAt > KEEP_SENT);
    if (done && !(e.job && e.job === document.body.dataset.job)) await drop("entries", e.n);
  }
}

const now = () => {
  if (trouble) wait = FIRST_WAIT;
  flush();
};
addEventListener("online", now);
addEventListener("pageshow", (ev) => ev.persisted && now());
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && now());
if (channel) channel.onmessage = () => {
  for (const f of ears) f();
};
export const ready = tidy().then(durable);
flush();
