// Every page of the shop in every look: no violation of WCAG 2.2 A and AA that axe-core finds, a language, one heading of the first rank, no
// complaint in the console, nothing wider than the phone.

import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { post, SIZES } from "../kit.mjs";
import { everyPage } from "../pages.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const COLOURS = ["color-contrast", "link-in-text-block", "target-size"]; // what a look can change
const OFF = ["region"]; // the demo sign and the strip stand outside of the main part on purpose

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
  const list = await everyPage(t, d.ctx);
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
