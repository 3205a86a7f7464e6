// Every page of the shop in every look: no violation of WCAG 2.2 A and AA that axe-core finds, a language, one heading of the first rank, no
// complaint in the console, nothing wider than the phone.

import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { bookIn, entry, get, plain, post, SIZES } from "../kit.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const COLOURS = ["color-contrast", "link-in-text-block", "target-size"]; // what a look can change
const OFF = ["region"]; // the demo sign and the strip stand outside of the main part on purpose

/** data makes a job with something on every page, a closed one, and gives the addresses of all pages. */
async function data(t, ctx) {
  const shop = t.shop;
  const job = await bookIn(shop, ctx, "AXE-1"), closed = await bookIn(shop, ctx, "AXE-2"), second = await bookIn(shop, ctx, "AXE-1");
  const add = (n, kind, body) => entry(shop, ctx, n, kind, body);
  await add(job, "noted", { text: "A note." });
  await add(job, "pressed", { hold: "as found", watch: "wa", press: "start", elapsed_ms: 0, stroke: "up", pressure: "160 bar" });
  const gone = await add(job, "pressed", { hold: "as found", watch: "wa", press: "mark", elapsed_ms: 4000, rod: "10 mm" });
  await add(job, "pressed", { hold: "as found", watch: "wa", press: "top", elapsed_ms: 15000 });
  await add(job, "pressed", { hold: "as found", watch: "wa", press: "end", elapsed_ms: 16000 });
  await add(job, "struck", { seq: gone, reason: "misread the rule" });
  await add(job, "read", { hold: "as found", reading: { still: "down", pressure: "160 bar", time: "60 s", seen: "0.5 mm" } });
  await post(shop, ctx, `/jobs/${job}/judge`, { key: "axe-judge", hold: "as found" });
  await add(job, "found", { part: "inlet valve seat", text: "A groove." });
  await add(job, "chose", { parts: { "throat leather ring": "replace", "piston leather ring": "replace", "inlet valve seat": "turn over" } });
  await post(shop, ctx, `/jobs/${job}/prices`, { key: "axe-price", text: "work", quantity: "1.5", each: "64" });
  const minded = /name="caution" value="([^"]*)"/.exec(await get(shop, ctx, `/jobs/${job}/found`))[1];
  await post(shop, ctx, `/jobs/${job}/mind`, { key: "axe-mind", caution: plain(minded), back: `/jobs/${job}/found` });
  await post(shop, ctx, `/jobs/${closed}/override`, { key: "axe-over", reason: "Seen by eye (invented)." });
  await add(closed, "handed", { to: "Ove Lindgaard", signature: "M120 80L124 82L300 200", note: "" });
  await post(shop, ctx, `/jobs/${closed}/close`, { key: "axe-close", good: "yes" });
  const work = await get(shop, ctx, `/jobs/${job}/work`);
  const steps = [...work.matchAll(/href="(\/jobs\/\d+\/step\?id=[^"]*)"/g)].map((m) => plain(m[1]));
  const idOf = (s) => new URLSearchParams(s.split("?")[1]).get("id");
  const step = (what) => steps.find((s) => idOf(s).startsWith(what));
  const soak = step("soak");
  if (soak) await post(shop, ctx, `/jobs/${job}/soak`, { key: "axe-soak", step: idOf(soak) });
  const verdict = /\/jobs\/\d+\/verdict\/\d+/.exec(await get(shop, ctx, `/jobs/${job}`))[0];
  const item = async (kind) => /href="(\/catalogue\/[a-z]+\/\d+)"/.exec(await get(shop, ctx, `/catalogue/${kind}`))?.[1];
  const kinds = [...(await get(shop, ctx, "/catalogue")).matchAll(/href="(\/catalogue\/[a-z]+(?:\/\d+)?)"/g)].map((m) => m[1]);
  const items = [];
  for (const k of kinds) {
    items.push(k);
    const one = /\/\d+$/.test(k) ? k : await item(k.split("/")[2]);
    if (!/\/\d+$/.test(k)) items.push(`${k}/new`);
    if (one) items.push(one, `${one}/history`);
  }
  const pump = /\/pumps\/\d+/.exec(await get(shop, ctx, `/jobs/${second}`))[0];
  const j = `/jobs/${job}`;
  return [
    "/", "/search", "/search?q=AXE", "/search?q=nothing-like-this", "/jobs/new", "/jobs/new?serial=AXE-1",
    j, `${j}/booked`, `${j}/found`, `${j}/prove`, `${j}/readings`, ...["still", "locked", "run", "drips", "sign"].map((k) => `${j}/readings?kind=${k}`), verdict, `${j}/findings`, `${j}/choose`, `${j}/work`,
    ...new Set([steps[0], step("stack"), step("torque"), soak, step("hold")].filter(Boolean)), `${j}/hand`, `${j}/history`, `${j}/tag`, `${j}/report`, `${j}/customer`,
    `${j}/report?as=html`, `/jobs/${closed}`, `/jobs/${closed}/hand`, `/jobs/${closed}/found`, `/jobs/${closed}/customer`, `/jobs/${second}`,
    pump, "/customers/1", "/me", "/door", "/door?person=1", "/let-in", "/offline", "/trust", "/devices/code", "/tokens", "/catalogue", ...new Set(items), `${j}/nothing-here`,
  ];
}

async function look(t, d, path, how) {
  const { page } = d;
  const r = await d.go(path);
  if (!path.endsWith("nothing-here") && r.status() !== 200) return [`${path}: status ${r.status()}`];
  const bad = [];
  const facts = await page.evaluate(() => ({ lang: document.documentElement.lang, h1: document.querySelectorAll("h1").length, title: document.title, wide: document.documentElement.scrollWidth - innerWidth }));
  if (facts.lang !== "en") bad.push(`lang ${facts.lang}`);
  if (facts.h1 !== 1) bad.push(`${facts.h1} headings of the first rank`);
  if (!facts.title) bad.push("no title");
  if (facts.wide > 0) bad.push(`${facts.wide} px wider than the screen`);
  if (how.axe) {
    await page.evaluate(axe);
    const found = await page.evaluate(([only, off]) => axe.run(document, { runOnly: only, resultTypes: ["violations"], rules: Object.fromEntries(off.map((id) => [id, { enabled: false }])) }), [how.only ? { type: "rule", values: how.only } : TAGS, how.only ? [] : OFF]);
    for (const v of found.violations) bad.push(`${v.id}: ${v.nodes.slice(0, 3).map((n) => `${n.target} ${n.html.slice(0, 140)} ${n.failureSummary.split("\n").slice(1).join(" ").slice(0, 260)}`).join(" | ")}`);
  }
  return bad.map((b) => `${path} (${how.name}): ${b}`);
}

async function all(t, how, width, style) {
  const d = await t.tablet({ width, flows: true, look: how.name === "dark" ? "dark" : "light", allow: [/status of 404/] });
  const list = await data(t, d.ctx);
  if (style) await post(t.shop, d.ctx, "/me/look", { look: style, back: "/" });
  const bad = [];
  for (const p of list) bad.push(...(await look(t, d, p, how)));
  if (style) await post(t.shop, d.ctx, "/me/look", { look: "", back: "/" });
  t.note(`${list.length} pages at ${SIZES[width].width} px`);
  if (bad.length) throw new Error(`${bad.length} faults:\n${bad.join("\n")}`);
}

export default {
  "every page, light, as wide as a phone": (t) => all(t, { axe: true, name: "light" }, 390, ""),
  "every page, dark": (t) => all(t, { axe: true, name: "dark", only: COLOURS }, 820, ""),
  "every page, high contrast, wide": (t) => all(t, { axe: true, name: "contrast" }, 1440, "contrast"),
};
