// What the browser tests share: the server under test, one browser, tablets that are let in, and a watch over everything that a page
// must not do (errors in the console, requests that leave the machine, breaches of the content security policy).

import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

export const PIN = "804937"; // of everybody in the demo workshop
export const MARA = 1, JONAS = 2, ILSE = 3, TOMAS = 4; // owner, trainer, technician (imperial units), office (Spanish)
export const SIZES = { 390: { width: 390, height: 844 }, 820: { width: 820, height: 1180 }, 1440: { width: 1440, height: 900 } };

const flags = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];

/** findChromium gives the path of a Chromium of the system, or "". */
export function findChromium() {
  return [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/lib/chromium/chromium", "/snap/bin/chromium"].find((p) => p && existsSync(p)) ?? "";
}

export function launch() {
  return chromium.launch({ executablePath: findChromium(), args: flags });
}

/** serve starts the program with a data folder of its own on a free loopback port. */
export async function serve(bin, ...args) {
  const data = mkdtempSync(join(tmpdir(), "evenstroke-browser-"));
  const child = spawn(bin, ["serve", "--data", data, "--listen", "127.0.0.1:0", "--lan", "none", ...args], { stdio: ["ignore", "pipe", "pipe"] });
  process.once("exit", () => child.kill("SIGTERM"));
  let out = "", log = "";
  child.stderr.on("data", (d) => { log += d; });
  const gone = new Promise((done) => child.once("exit", done));
  const greeting = new Promise((done, fail) => {
    child.stdout.on("data", (d) => {
      out += d;
      const m = /(http:\/\/[^\s/]+)(?:\/let-in#([A-Z0-9]+))?\n/.exec(out);
      if (m) done({ base: m[1], code: m[2] ?? "" });
    });
    child.once("exit", (code) => fail(new Error(`the server ended with ${code}: ${log}`)));
  });
  const { base, code } = await greeting;
  const stop = async () => {
    child.kill("SIGTERM");
    await gone;
    rmSync(data, { recursive: true, force: true });
  };
  return { base, code, data, stop, log: () => log, host: null };
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
    data: { key: `t-${process.pid}-${++nth}`, at: new Date().toISOString(), kind, body }, headers: { Origin: shop.base, Accept: "application/json, application/problem+json" },
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
export async function tablet(shop, browser, { width = 820, who = MARA, touch = width < 1000, scripts = true, allow = [], sign = true, known = true, look = "light", locale = "en-GB", name } = {}) {
  const ctx = await browser.newContext({
    viewport: SIZES[width], hasTouch: touch, isMobile: width === 390, javaScriptEnabled: scripts, locale, colorScheme: look === "dark" ? "dark" : "light", reducedMotion: "reduce", acceptDownloads: true,
  });
  ctx.setDefaultTimeout(30000);
  if (scripts) {
    await ctx.addInitScript(() => document.addEventListener("securitypolicyviolation", (e) => console.error("policy breached:", e.violatedDirective, e.blockedURI, e.sourceFile)));
  }
  const bad = guard(shop, ctx, allow);
  if (known) await letIn(shop, ctx, name ?? `tablet ${width}`);
  if (known && sign && who) await signIn(shop, ctx, who);
  const page = await ctx.newPage();
  const go = async (path) => page.goto(shop.base + path);
  return { ctx, page, bad, go, shop };
}

/** host opens the context that makes codes for the others. */
export async function host(shop, browser) {
  const ctx = await browser.newContext();
  await letIn(shop, ctx, "bench screen 2");
  await signIn(shop, ctx, MARA);
  shop.host = ctx;
  return ctx;
}

/** press is a press of the finger, or of the mouse where there is none. */
export async function press(page, selector) {
  const l = typeof selector === "string" ? page.locator(selector).first() : selector;
  await l.scrollIntoViewIfNeeded();
  const touch = await page.evaluate(() => navigator.maxTouchPoints > 0);
  return touch ? l.tap() : l.click();
}

/** sleep waits. */
export const sleep = (ms) => new Promise((done) => setTimeout(done, ms));

/** until waits until f gives something true. */
export async function until(f, what, ms = 20000) {
  const end = Date.now() + ms;
  for (;;) {
    const v = await f();
    if (v) return v;
    if (Date.now() > end) throw new Error(`waited ${ms} ms for: ${what}`);
    await sleep(80);
  }
}
