// The phone: board, search, job and hold are usable with a thumb.

import { bookIn, press, until } from "../kit.mjs";

/** small lists what can be pressed and is too small: 56 px for keys, 24 px for the rest (WCAG 2.2, 2.5.8; links in a line of text are free). */
const small = (page) => page.evaluate(() => {
  const out = [];
  for (const e of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, label.choice, label.check")) {
    let r = e.getBoundingClientRect();
    if (!r.width || !r.height || getComputedStyle(e).visibility === "hidden" || e.closest(".sr, .skip, svg")) continue;
    const label = e.matches("input[type=radio], input[type=checkbox], input[type=file]") && e.closest("label");
    if (label) r = label.getBoundingClientRect();
    const key = e.matches(".key, .hkey, .job-card, .mainnav a, .choice, .person, .results a, .steps a") || label;
    const inText = e.matches("a") && !key && getComputedStyle(e).display === "inline";
    const least = key ? 55.5 : 24;
    if (!inText && (r.height < least || r.width < Math.min(least, 44))) out.push(`${e.tagName} "${(e.getAttribute("aria-label") ?? e.textContent).trim().slice(0, 30)}" ${Math.round(r.width)} × ${Math.round(r.height)}`);
  }
  return out;
});

export default {
  async "board, search, job and hold at 390 px"(t) {
    const d = await t.tablet({ width: 390 }), { page, ctx } = d;
    const job = await bookIn(t.shop, ctx, "THUMB-77");
    const tiny = [];
    const check = async (what) => {
      for (const s of await small(page)) tiny.push(`${what}: ${s}`);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth);
      if (wide > 390) tiny.push(`${what}: ${wide} px wide`);
    };
    await d.go("/");
    await check("board");
    await press(page, ".mainnav a[href='/search']");
    await page.waitForSelector("#q");
    await page.fill("#q", "thumb-77");
    await page.dispatchEvent("#q", "search");
    await until(async () => (await page.locator("#results li").count()) === 1, "the search finds one job as it is typed");
    await check("search");
    await press(page, "#results a");
    await page.waitForURL(`**/jobs/${job}`);
    await check("job");
    const next = await page.locator(".next .primary").boundingBox();
    t.ok(next.y + next.height <= 844, `the next action is on the first screen: ${Math.round(next.y + next.height)} px`);
    await press(page, ".next .primary");
    await page.waitForURL("**/found");
    for (let left = await page.locator(".caution button").count(); left > 0; left--) {
      const shown = page.locator(".caution button:visible");
      t.ok((await shown.count()) === 1, "a phone shows one caution at a time");
      const b = await shown.boundingBox();
      t.ok(b.y + b.height <= 844, `the key of a caution is on the first screen: ${Math.round(b.y + b.height)} px, ${left} left`);
      await press(page, ".caution button:visible");
      await page.waitForFunction((n) => document.querySelectorAll(".caution button").length < n, left);
    }
    await d.go(`/jobs/${job}/found`);
    await page.waitForSelector("[data-press=start]:not([disabled])");
    await check("hold");
    const start = await page.locator("[data-press=start]").boundingBox();
    t.note(`Start from ${Math.round(start.y)} to ${Math.round(start.y + start.height)} px of 844`);
    t.ok(start.y + 56 <= 844, `Start begins at ${Math.round(start.y)} px: it can be pressed without scrolling`);
    await press(page, "[data-press=start]");
    await page.waitForSelector(".hold-keys.running");
    await page.evaluate(() => scrollTo(0, 0));
    for (const k of ["top", "bottom", "mark", "end"]) {
      const b = await page.locator(`[data-press=${k}]`).boundingBox();
      t.ok(b.y >= 0 && b.y + b.height <= 844 && b.height >= 56, `while the watch runs the key ${k} is on the first screen: ${Math.round(b.y)} to ${Math.round(b.y + b.height)} px`);
    }
    await check("hold that runs");
    for (const p of [`/jobs/${job}/hand`, `/jobs/${job}/readings`, `/jobs/${job}/choose`, "/catalogue", "/me"]) {
      await d.go(p);
      await check(p);
    }
    if (tiny.length) throw new Error(tiny.join("\n"));
  },
};
