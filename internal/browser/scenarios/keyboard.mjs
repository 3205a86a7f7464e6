// The core flow by the keyboard alone, at a desk.

import { get, PIN, plain, until } from "../kit.mjs";

/** tab presses Tab until f(active element) is true; each stop must be visible, shown as focused, and not met before. */
async function tab(t, page, selector, most = 60) {
  const seen = [];
  for (let i = 0; i < most; i++) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate((want) => {
      const e = document.activeElement, r = e.getBoundingClientRect(), s = getComputedStyle(e), inner = e.matches("input[type=radio], input[type=checkbox]") ? e.parentElement.querySelector("span") ?? e : e;
      const si = getComputedStyle(inner), frame = (x) => x.outlineStyle !== "none" && parseFloat(x.outlineWidth) >= 2 || x.boxShadow !== "none";
      const around = e.closest(".with-unit");
      return { body: e === document.body, hit: e.matches(want), what: `${e.tagName} ${e.id || e.name || e.textContent.trim().slice(0, 30)}`, seen: r.width > 0 && r.height > 0 && r.bottom > 0 && r.top < innerHeight,
        ring: frame(s) || frame(si) || (around && frame(getComputedStyle(around))) };
    }, selector);
    if (at.body) continue;
    t.ok(at.seen, `focus on what cannot be seen: ${at.what}`);
    t.ok(at.ring, `focus that does not show: ${at.what}`);
    seen.push(at.what);
    if (at.hit) return seen;
  }
  throw new Error(`${selector} is not reached by Tab: ${seen.join(" > ")}`);
}

export default {
  async "book in, hold and verdict without a mouse"(t) {
    const d = await t.tablet({ width: 1440, sign: false }), { page } = d;
    await d.go("/door");
    const order = await tab(t, page, "a.person");
    t.ok(/To the page/.test(order[0]), `the first stop is the skip link: ${order[0]}`);
    await page.keyboard.press("Enter");
    await page.waitForSelector("#pin");
    await page.waitForFunction(() => document.activeElement?.id === "pin");
    await page.keyboard.type(PIN);
    await page.keyboard.press("Enter");
    await page.waitForSelector("#board");
    await page.keyboard.press("Tab");
    await page.keyboard.press("Enter");
    await page.waitForFunction(() => document.activeElement?.id === "main");
    await d.go("/jobs/new");
    await tab(t, page, "#book [name=serial]");
    await page.keyboard.type("KEY-1");
    await tab(t, page, "#book [name=model]");
    await page.keyboard.type("orrin");
    await tab(t, page, "#book [name=customer]");
    await page.keyboard.type("Harbour painters");
    await tab(t, page, "#book [name=complaint]");
    await page.keyboard.type("Drips (invented).");
    await tab(t, page, ".next .primary");
    await page.keyboard.press("Enter");
    await page.waitForURL(/\/jobs\/\d+\?done=booked/);
    const job = Number(/jobs\/(\d+)/.exec(page.url())[1]);
    await tab(t, page, ".next .primary");
    await page.keyboard.press("Enter");
    await page.waitForURL("**/found");
    await page.waitForSelector("[data-press=start]:not([disabled])");
    await d.later(1000); // the keys of a new page take no press for a second
    const keys = await page.$$eval("[data-press]", (list) => list.map((b) => b.getAttribute("aria-keyshortcuts")));
    t.equal(keys, ["S", "T", "B", "M", "E"], "hot keys as told to screen readers");
    await tab(t, page, "[data-hold-setup] [name=stroke]");
    await page.keyboard.press("ArrowDown");
    t.ok(await page.isChecked("[name=stroke][value=down]"), "the arrow keys choose the stroke");
    await page.keyboard.press("ArrowUp");
    await tab(t, page, "[data-hold-setup] [name=pressure]");
    await page.keyboard.press("Control+a");
    await page.keyboard.type("160");
    t.equal(await page.locator("[data-presses] .press").count(), 0, "presses by what is typed into a field");
    await tab(t, page, "[data-press=start]");
    await page.keyboard.press("Enter");
    await page.waitForSelector(".hold-keys.running");
    await d.later(4000);
    await page.keyboard.press("m");
    await page.waitForFunction(() => document.activeElement?.name === "rod");
    await page.keyboard.type("15");
    await d.later(1000);
    await page.keyboard.press("Enter");
    await page.waitForSelector("[data-hold-mark]", { state: "hidden" });
    await d.later(2000);
    await page.keyboard.press("t");
    await d.later(2000);
    await page.keyboard.press("b");
    await d.later(2000);
    await page.keyboard.press("e");
    await page.waitForSelector(".hold-keys:not(.running)");
    const got = await until(async () => {
      const list = JSON.parse(plain(/data-known="([^"]*)"/.exec(await get(t.shop, d.ctx, `/jobs/${job}/found`))[1]));
      return list.length === 5 && list;
    }, "five presses with the shop");
    t.equal(got.map((k) => k.press), ["start", "mark", "top", "bottom", "end"], "presses by hot keys");
    await page.waitForSelector(".hotkeys input");
    await tab(t, page, ".hotkeys input", 80);
    await page.keyboard.press("Space");
    await page.keyboard.press("s");
    await d.later(1000);
    t.equal(await page.locator(".hold-keys.running").count(), 0, "watches started by a hot key that is switched off");
    await page.keyboard.press("Space");
    await tab(t, page, ".next .primary", 80);
    await page.keyboard.press("Enter");
    await page.waitForURL("**/verdict/*");
    await page.waitForSelector(".verdict-word");
  },
};
