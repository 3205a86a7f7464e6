// Runs the scenarios that are named on the command line (all without names), each against a shop of its own (cmd/shop, built as
// EVENSTROKE_BIN), in one browser. Each result is one line of JSON on the standard output: {name, ok, ms, notes, error}.

import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { host, launch, serve, tablet } from "./kit.mjs";

const names = ["axe", "layout", "job", "keys", "setup", "offline", "keyboard", "noscript", "close", "switch", "two", "phone", "lock", "passkey", "weight"];
const AT_ONCE = 2;
const bin = process.env.EVENSTROKE_BIN, shots = process.env.EVENSTROKE_SHOTS ?? "";

/** T is what a test gets: a demo shop of its own, the browser, and a way to say what it found. */
class T {
  tablets = [];
  servers = [];
  notes = [];

  constructor(name, browser) {
    Object.assign(this, { name, browser, shop: null });
  }

  /** later lets time pass in the test's own demo shop. */
  later(ms) {
    return this.shop.clock.later(ms);
  }

  /** tablet opens a device that is let in and signed in; what its pages did wrong fails the test at its end. */
  async tablet(how = {}) {
    const d = await tablet(how.shop ?? this.shop, this.browser, how);
    this.tablets.push(d);
    return d;
  }

  /** serve starts a server of the test's own. */
  async serve(...args) {
    const s = await serve(bin, ...args);
    this.servers.push(s);
    if (s.code) await host(s, this.browser);
    return s;
  }

  ok(good, what) {
    if (!good) throw new Error(what);
  }

  equal(got, want, what) {
    if (JSON.stringify(got) !== JSON.stringify(want)) throw new Error(`${what}: found ${JSON.stringify(got)}, expected ${JSON.stringify(want)}`);
  }

  note(text) {
    this.notes.push(text);
  }

  async picture() {
    for (const [i, d] of this.tablets.entries()) {
      const file = join(shots, `${this.name.replace(/\W+/g, "_")}-${i}.png`);
      await d.page.screenshot({ path: file }).then(() => this.note(`${d.page.url()} in ${file}`), () => {});
    }
  }

  async end() {
    const bad = this.tablets.flatMap((d) => d.bad);
    for (const d of this.tablets) await d.ctx.close().catch(() => {});
    for (const s of this.servers) await s.stop();
    return bad;
  }
}

async function one(name, test, browser) {
  const t = new T(name, browser), begin = performance.now();
  let error = "";
  try {
    t.shop = await t.serve("--demo");
    await test(t);
  } catch (err) {
    error = String(err.stack ?? err);
    if (shots) await t.picture();
  }
  const bad = await t.end().catch((err) => [String(err)]);
  if (bad.length && !error) error = [...new Set(bad)].slice(0, 12).join("\n");
  console.log(JSON.stringify({ name, ok: !error, ms: Math.round(performance.now() - begin), notes: t.notes, error }));
}

if (process.env.EVENSTROKE_HELD) { // the test holds the standard input open: when it is gone, so is this
  process.stdin.resume();
  process.stdin.once("end", () => process.exit(1));
}
const wanted = process.argv.slice(2).length ? process.argv.slice(2) : names;
if (shots) mkdirSync(shots, { recursive: true });
const queue = [];
for (const name of wanted) {
  const [file, part] = name.split("/");
  const tests = (await import(`./scenarios/${file}.mjs`)).default;
  for (const [sub, test] of Object.entries(tests)) if (!part || sub.startsWith(part)) queue.push([`${file}/${sub}`, test]);
}
let browser = await launch();
/** alive gives the browser, a new one when the last died: a scenario that took it down must not fail the next. */
const alive = async () => {
  if (!browser.isConnected()) browser = await launch();
  return browser;
};
try {
  const work = async () => {
    for (let next; (next = queue.shift());) await one(...next, await alive());
  };
  await Promise.all(Array.from({ length: AT_ONCE }, work));
} finally {
  await browser.close();
}
process.exit(0);
