// What the browser tests share: servers under test, one browser, tablets that are let in, and a watch over everything that a page
// must not do (errors in the console, requests that leave the machine, breaches of the content security policy).
//
// How to write a scenario: a file in scenarios/ (its name in the list of run.mjs) exports {"what it shows": async (t) => {...}}.
//  - t.shop is a demo workshop of the scenario's own: its own server, fresh limits, job 1 to 4 as in a new demo. t.serve("--idle", "5 min")
//    starts another, empty one; with "--demo" filled. What one scenario does no other sees.
//  - The clock of the shop (server and all pages of its tablets) begins at START and stands still. It is moved by the scenario alone:
//      press(page, key)      a press, after which a person's second goes by; d.go(path) takes a second as well
//      d.later(ms)           time passes: timers run, the pages get their answers; t.later the same
//      d.jump(ms)            a long time passes at once, as when the tablet slept: for locks, ends of limits, soaks
//      d.until(f, what)      lets time pass, in quarters of a second, until f() is true: for what a page does after some time
//      until(f, what)        no time passes: for what takes only work (an answer on its way, a row that is drawn)
//    A locator's own tap() and click() move nothing: use them for two presses in the same moment. A date: t.shop.clock.date().
//  - Nothing sleeps, nothing looks at the time of the machine, every wait ends and says what it waited for.
//  - t.ok(good, what), t.equal(got, want, what), t.note(text). Errors in the console fail the scenario; allow: [/status of 409/] expects some.

import { spawn } from "node:child_process";
import { cpSync, existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";
import { Clock, clockOf, START } from "./clock.mjs";

export { START, until } from "./clock.mjs";

export const PIN = "804937"; // of everybody in the demo workshop
export const MARA = 1, JONAS = 2, ILSE = 3, TOMAS = 4; // owner, trainer, technician (imperial units), office (Spanish)
export const SIZES = { 390: { width: 390, height: 844 }, 820: { width: 820, height: 1180 }, 1440: { width: 1440, height: 900 } };

const SECOND = 1000; // that a person takes from one press, or one page, to the next; limits that are counted by the second fill up meanwhile

const flags = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];

/** findChromium gives the path of a Chromium of the system, or "". */
export function findChromium() {
  return [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/lib/chromium/chromium", "/snap/bin/chromium"].find((p) => p && existsSync(p)) ?? "";
}

export function launch() {
  return chromium.launch({ executablePath: findChromium(), args: flags });
}

let demo = null; // the folder of a demo workshop that was just made: each further one is a copy of it

/** serve starts a shop with a folder of its own on a free loopback port, and with a clock of its own; args are those of cmd/shop. */
export async function serve(bin, ...args) {
  const data = mkdtempSync(join(tmpdir(), "evenstroke-browser-"));
  if (args.includes("--demo")) {
    demo ??= start(bin, mkdtempSync(join(tmpdir(), "evenstroke-demo-")), "--demo").then(async (s) => {
      await s.end();
      process.once("exit", () => rmSync(s.data, { recursive: true, force: true }));
      return s.data;
    });
    cpSync(await demo, data, { recursive: true });
  }
  const s = await start(bin, data, ...args);
  const stop = async () => {
    await s.end();
    rmSync(data, { recursive: true, force: true });
  };
  return { ...s, stop, host: null };
}

/** start starts the program of the tests, cmd/shop; it ends when its standard input does. */
async function start(bin, data, ...args) {
  const child = spawn(bin, ["-data", data, "-clock", new Date(START).toISOString(), ...args], { stdio: ["pipe", "pipe", "pipe"], env: { ...process.env, TZ: "UTC" } });
  let out = "", log = "", hear = () => {};
  child.stderr.on("data", (d) => { log += d; });
  child.stdout.on("data", (d) => {
    out += d;
    hear();
  });
  let over = null;
  const gone = new Promise((done) => child.once("exit", (code) => {
    over = code ?? "a signal";
    hear();
    done();
  }));
  const said = (pattern) => new Promise((done, fail) => {
    hear = () => {
      const m = pattern.exec(out);
      if (m) done(m);
      else if (over !== null) fail(new Error(`the server ended with ${over}: ${log}`));
    };
    hear();
  });
  const [, base, code = ""] = await said(/(http:\/\/[^\s/]+)(?:\/let-in#([A-Z0-9]+))?\n/);
  const clock = new Clock(async (ms) => {
    out = "";
    child.stdin.write(`${ms}\n`);
    return Date.parse((await said(/^clock (\S+)\n/m))[1]);
  });
  const end = async () => {
    child.stdin.end();
    await gone;
  };
  return { base, code, data, clock, end, log: () => log };
}

/** letIn makes the device of a context known to the shop: the first with the code of the greeting, the others with one made by the owner. */
export async function letIn(shop, ctx, name) {
  const code = shop.code || (await newCode(shop));
  shop.code = "";
  const r = await post(shop, ctx, "/let-in", { code, name });
  if (!r.url().endsWith("/door")) throw new Error(`not let in: ${r.status()} ${r.url()}`);
}

/** newCode asks for a code as the owner. */
export async function newCode(shop) {
  const home = shop.home ?? shop.base, headers = { Origin: home };
  const ask = async () => /class="num-xl">([0-9A-Z]+)</.exec(await (await shop.host.request.post(`${home}/devices/code`, { headers })).text())?.[1];
  const code = await ask();
  if (code) return code;
  await shop.host.request.post(`${home}/door`, { form: { person: String(MARA), pin: PIN, to: "/" }, headers }); // a code takes a sign-in within ten minutes
  return ask();
}

/** signIn takes a person in by PIN. */
export async function signIn(shop, ctx, person, pin = PIN) {
  const r = await post(shop, ctx, "/door", { person: String(person), pin, to: "/" });
  if (r.url() !== `${shop.base}/`) throw new Error(`not signed in: ${r.status()} ${r.url()}`);
}

/** post sends a form as a page of the shop would. */
export function post(shop, ctx, path, form) {
  return ctx.request.post(shop.base + path, { form, headers: { Origin: shop.base } });
}

/** get fetches a page as the person of a context. */
export async function get(shop, ctx, path) {
  return (await ctx.request.get(shop.base + path)).text();
}

/** plain turns an attribute of a page into its text. */
export const plain = (s) => s.replace(/&#(\d+);/g, (all, n) => String.fromCodePoint(n)).replaceAll("&quot;", '"').replaceAll("&lt;", "<").replaceAll("&gt;", ">").replaceAll("&amp;", "&");

let nth = 0;

/** entry writes an entry into a job as a script of the shop would; its number, or the answer when it was refused. */
export async function entry(shop, ctx, job, kind, body) {
  const r = await ctx.request.post(`${shop.base}/jobs/${job}/entries`, {
    data: { key: `t-${process.pid}-${++nth}`, at: shop.clock.date().toISOString(), kind, body }, headers: { Origin: shop.base, Accept: "application/json, application/problem+json" },
  });
  const answer = await r.json();
  if (!r.ok()) throw new Error(`${kind} refused: ${JSON.stringify(answer)}`);
  return answer.seq;
}

/** bookIn books a pump in and gives the number of the job. */
export async function bookIn(shop, ctx, serial, model = "orrin-30", more = {}) {
  const r = await post(shop, ctx, "/jobs/new", { key: `b-${process.pid}-${++nth}`, serial, model: `0:${model}`, customer: "Harbour painters", complaint: "Loses pressure (invented).", ...more });
  const m = /\/jobs\/(\d+)/.exec(r.url());
  if (!m) throw new Error(`not booked in: ${r.status()} ${r.url()}`);
  return Number(m[1]);
}

/** guard collects what the pages of a context must not do. allow: texts of the console that are expected. */
export function guard(shop, ctx, allow = []) {
  const bad = [];
  const say = (kind, text) => allow.some((a) => a.test(text)) || bad.push(`${kind}: ${text}`);
  ctx.on("console", (m) => ["error", "warning"].includes(m.type()) && say(`console ${m.type()} on ${m.page()?.url()}`, m.text()));
  ctx.on("weberror", (e) => say("uncaught", String(e.error()?.stack ?? e.error())));
  ctx.on("request", (r) => {
    const u = r.url();
    if (!u.startsWith(`${shop.base}/`) && !/^(data|blob|about):/.test(u)) say("request that leaves the shop", u);
  });
  return bad;
}

/** tablet opens a context of a size, let in and signed in. */
export async function tablet(shop, browser, { width = 820, who = MARA, touch = width < 1000, scripts = true, allow = [], sign = true, known = true, look = "light", locale = "en-GB", flows = false, name } = {}) {
  const ctx = await browser.newContext({
    viewport: SIZES[width], hasTouch: touch, isMobile: width === 390, javaScriptEnabled: scripts, locale, timezoneId: "UTC", colorScheme: look === "dark" ? "dark" : "light", reducedMotion: "reduce", acceptDownloads: true,
  });
  ctx.setDefaultTimeout(60000);
  await shop.clock.holds(ctx, { scripts, flows });
  if (scripts) {
    await ctx.addInitScript(() => document.addEventListener("securitypolicyviolation", (e) => console.error("policy breached:", e.violatedDirective, e.blockedURI, e.sourceFile)));
  }
  const bad = guard(shop, ctx, allow);
  if (known) await letIn(shop, ctx, name ?? `tablet ${width}`);
  if (known && sign && who) await signIn(shop, ctx, who);
  const page = await ctx.newPage(), { clock } = shop;
  const go = async (path) => {
    await clock.later(SECOND);
    const answer = await page.goto(shop.base + path);
    await clock.quiet(); // its scripts have run
    return answer;
  };
  return { ctx, page, bad, go, shop, later: (ms, how) => clock.later(ms, how), jump: (ms) => clock.jump(ms), until: (f, what, tries) => clock.until(f, what, tries) };
}

/** host opens the context that makes codes for the others. */
export async function host(shop, browser) {
  const ctx = await browser.newContext();
  await letIn(shop, ctx, "bench screen 2");
  await signIn(shop, ctx, MARA);
  shop.host = ctx;
  return ctx;
}

/** press is a press of the finger, or of the mouse where there is none, and the second that a person takes until the next. */
export async function press(page, selector) {
  const l = typeof selector === "string" ? page.locator(selector).first() : selector;
  await l.scrollIntoViewIfNeeded();
  const touch = await page.evaluate(() => navigator.maxTouchPoints > 0);
  await (touch ? l.tap() : l.click());
  await clockOf(page.context())?.later(SECOND);
}
