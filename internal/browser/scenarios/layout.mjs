// Every page at three widths, in both languages: nothing too small to read or to hit, cut, broken, squeezed, overlapping, or wider than the
// screen, and one next key. A page that the crawl does not know fails it: the routes are read from the shop's source.

import { readFileSync } from "node:fs";
import { layout } from "../layout.mjs";
import { bookIn, entry, ILSE, post, press, SIZES } from "../kit.mjs";
import { everyPage } from "../pages.mjs";

const LEAST = { text: 18, target: 48, column: 12 };
const PAPER = /\/(tag|report|customer)\b/; // their type is that of paper

// Routes that answer no page: files, streams, parts of pages, what leads on or is downloaded.
const NO_PAGE = ["/static/{version}/{name...}", "/sw.js", "/manifest.webmanifest", "/favicon.ico", "/trust/root.cer", "/healthz", "/board/lanes", "/board/events", "/t/{job}", "/photos/{hash}", "/photos/{hash}/small",
  "/jobs/{job}/look", "/jobs/{job}/presses", "/jobs/{job}/torque", "/jobs/{job}/size", "/jobs/{job}/tag.pdf", "/jobs/{job}/report.pdf", "/jobs/{job}/customer.pdf", "/jobs/{job}/archive"];

/** routes reads the addresses that answer a GET. */
const routes = () => [...readFileSync(new URL("../../web/routes.go", import.meta.url), "utf8").matchAll(/"GET (\/[^"]*)"/g)].map((m) => m[1].replace("{$}", ""));

function forgotten(paths) {
  const met = (route) => {
    const pattern = new RegExp(`^${route.replace(/[.]/g, "\\.").replace(/\{[^}]*\}/g, "[^/?]+")}(\\?.*)?$`);
    return paths.some((p) => pattern.test(p));
  };
  return routes().filter((r) => !NO_PAGE.includes(r) && !met(r));
}

// States of a page that come by presses.
const STATES = {
  "found, the watch runs": async (page, d, job) => {
    await d.go(`/jobs/${job}/found`);
    while (await page.locator(".caution button:visible").count()) await press(page, ".caution button:visible");
    await d.go(`/jobs/${job}/found`);
    await press(page, "[data-press=start]");
  },
  "found, a mark is typed": async (page) => press(page, "[data-press=mark]"),
  "a torque outside, as it is typed": async (page, d, job) => {
    await d.go(`/jobs/${job}/step?id=torque+inlet+housing&turn=line`);
    await d.later(1000);
    await page.fill("[name=torque]", "20");
    await d.later(1000);
    await page.waitForSelector(".said.bad");
  },
  "the PIN is asked for in place": async (page, d) => {
    await d.jump(8 * 60 * 1000); // twice, so that the tablet is not locked
    await d.go("/me");
    await d.jump(8 * 60 * 1000);
    await d.go("/devices/code");
    await press(page, "main form[method=post] button");
    await page.waitForSelector("[name='pin.anew']");
  },
};

async function faults(page, what) {
  const bad = [];
  for (const [width, size] of Object.entries(SIZES)) {
    await page.setViewportSize(size);
    const { out, next, primary } = await page.evaluate(layout, { least: PAPER.test(what) ? { ...LEAST, text: 0, column: 0 } : LEAST });
    if (next > 1 || (next === 1 && primary > 1 && !/found|prove/.test(what))) out.push(`${next} next keys and ${primary} primary ones`);
    bad.push(...out.map((f) => `${what} at ${width}: ${f}`));
  }
  return bad;
}

async function all(t, lang) {
  const d = await t.tablet({ width: 820, allow: [/status of 40[34]/] }), { page, ctx } = d;
  const paths = await everyPage(t, ctx), job = Number(/\/jobs\/(\d+)$/.exec(paths.find((p) => /^\/jobs\/\d+$/.test(p)))[1]);
  t.equal(forgotten(paths), [], "pages that the crawl does not know");
  await post(t.shop, ctx, "/me/lang", { lang, back: "/" });
  const bad = [];
  for (const path of paths) {
    await page.setViewportSize(SIZES[820]);
    await d.go(path);
    bad.push(...(await faults(page, path)));
  }
  for (const [what, to] of Object.entries(STATES)) {
    await page.setViewportSize(SIZES[820]);
    await to(page, d, job);
    bad.push(...(await faults(page, what)));
  }
  t.note(`${paths.length + Object.keys(STATES).length} pages at ${Object.keys(SIZES).join(", ")} px`);
  if (bad.length) throw new Error(`${bad.length} faults:\n${bad.join("\n")}`);
}

/** printed is what of a page is ink: cards that have no more than their heading, and keys. */
const printed = (page) => page.evaluate(() => {
  const seen = (e) => e.checkVisibility();
  const inked = (e) => [...e.querySelectorAll("img, svg, dl, p, li, table")].some((x) => seen(x) && !x.closest("form, h1, h2, h3"));
  return [...document.querySelectorAll("main .card")].filter((e) => seen(e) && !inked(e)).map((e) => `empty card: ${e.innerText.trim()}`)
    .concat([...document.querySelectorAll("main button, main .key, main input")].filter(seen).map((e) => `key: ${e.innerText || e.name}`));
});

/** onPaper prints the page of a job without notes or photos, open and closed, and with a note. */
async function onPaper(t) {
  const d = await t.tablet({ width: 1440, who: ILSE }), { page, ctx } = d;
  const job = await bookIn(t.shop, ctx, "PRINT-1");
  const look = async (state, notes) => {
    await page.emulateMedia({ media: "screen" });
    await d.go(`/jobs/${job}`);
    await page.emulateMedia({ media: "print" });
    t.equal(await printed(page), [], `what prints for nothing of a job that is ${state}`);
    t.ok(await page.locator("#facts").isVisible(), `the facts of a job that is ${state} print`);
    t.equal(await page.getByText("Seen on paper.").count() > 0 && await page.locator("#notes").isVisible(), notes, `the notes of a job that is ${state} print`);
  };
  await look("open", false);
  await post(t.shop, ctx, `/jobs/${job}/close`, { key: "print-close", good: "no", closereason: "Taken back as it is." });
  await look("closed", false);
  await entry(t.shop, ctx, job, "noted", { text: "Seen on paper." });
  await look("closed, with a note", true);
}

export default {
  "what of a job prints": onPaper,
  "every page in English": (t) => all(t, "en"),
  "every page in Spanish": (t) => all(t, "es"),
};
