// A tablet that lies idle is locked; what it keeps is sent when its person is back; wrong PINs shut the door for a while.

import { bookIn, PIN, press, until } from "../kit.mjs";

export default {
  async "an idle tablet locks, kept entries are sent after signing in"(t) {
    const shop = await t.serve("--demo", "--idle", "6 min");
    const d = await t.tablet({ shop, width: 820, allow: [/status of 401/] }), { page, ctx } = d;
    const job = await bookIn(shop, ctx, "LOCK-1");
    await d.go(`/jobs/${job}/found`);
    await page.waitForSelector("[data-press=start]:not([disabled])");
    await d.jump(7 * 60e3);
    await press(page, "[data-press=start]");
    await until(async () => /sign in/i.test(await page.textContent("[data-netstrip]")), "the strip asks to sign in");
    t.equal(await page.locator("[data-presses] .press.kept").count(), 1, "presses kept on the tablet");
    await press(page, "[data-netstrip] a");
    await page.waitForURL("**/door?to=*");
    if (!(await page.locator("#pin").count())) await press(page, page.getByRole("link", { name: /Mara Kell/ }));
    await page.fill("#pin", PIN);
    await press(page, "form.pin .primary");
    await page.waitForURL(`**/jobs/${job}/found`);
    await until(async () => (await page.locator("[data-presses] .press.sent").count()) === 1, "the kept press is sent");
    t.ok(await page.isVisible(".hold-keys.running"), "the watch ran on");
  },

  async "wrong PINs"(t) {
    const { shop } = t;
    const d = await t.tablet({ shop, width: 390, sign: false, allow: [/status of 403/, /status of 429/, /status of 422/] }), { page } = d;
    await d.go("/door?person=3");
    let said = "";
    for (let i = 0; i < 8; i++) {
      await page.fill("#pin", "730194");
      await press(page, "form.pin .primary");
      await page.waitForSelector("#errors");
      said = (await page.textContent("#errors")).replace(/\s+/g, " ");
      t.equal(await page.inputValue("#pin"), "", "the PIN is not sent back");
      if (/try again in/.test(said)) break;
      await page.evaluate(() => document.getElementById("errors").remove());
      await d.go("/door?person=3");
    }
    t.note(said.trim());
    t.ok(/try again in \d+ (seconds?|minutes?)/.test(said), `the page says how long to wait: ${said}`);
    await d.go("/door?person=3");
    await page.fill("#pin", PIN);
    await press(page, "form.pin .primary");
    await page.waitForSelector("#errors");
    t.ok(!page.url().endsWith("/"), "the right PIN waits as well");
  },
};
