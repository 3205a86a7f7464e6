// A new shop, from its first page to the board.

import { press } from "../kit.mjs";

export default {
  async "the demo is offered and made"(t) {
    const shop = await t.serve();
    const d = await t.tablet({ shop, known: false, width: 820, allow: [/status of 422/] });
    const { page } = d;
    await d.go("/");
    t.ok(page.url().endsWith("/set-up"), `the first page is ${page.url()}`);
    await page.fill("[name=name]", "Bench two (invented)");
    await page.fill("[name=person]", "Runa Aasen");
    await page.fill("[name=pin]", "111111");
    await page.fill("[name=device]", "bench tablet");
    await press(page, "[name=demo]");
    await press(page, ".next .key.primary");
    await page.waitForSelector("#errors");
    t.equal(await page.getAttribute("#f-pin", "aria-invalid"), "true", "the field of the PIN that was refused");
    t.ok((await page.textContent("#f-pin-error")).length > 10, "the error stands at the field of the PIN");
    t.ok((await page.getAttribute("#f-pin", "aria-describedby")).includes("f-pin-error"), "the error describes the field");
    await page.waitForFunction(() => document.activeElement?.id === "errors"); // the script of the page sees to it
    t.equal(await page.getAttribute("#errors a", "href"), "#f-pin", "the list of errors leads to the field");
    t.equal(await page.inputValue("#f-pin"), "", "a PIN is not sent back");
    t.equal(await page.inputValue("[name=name]"), "Bench two (invented)", "the name stays");
    t.ok(await page.isChecked("[name=demo]"), "the demo stays checked");
    await page.fill("[name=pin]", "739402");
    await press(page, ".next .key.primary");
    await page.waitForURL("**/door**");
    if (await page.$("a.person")) await press(page, page.getByRole("link", { name: "Runa Aasen" }));
    await page.fill("#pin", "739402");
    await press(page, "form.pin .key.primary");
    await page.waitForSelector("#board");
    t.equal(await page.locator(".job-card").count(), 4, "jobs of the demo");
    t.ok(await page.isVisible(".demo-sign"), "a demo workshop says so");
    await d.go("/set-up");
    t.ok(!page.url().includes("set-up"), "a shop is set up once");
  },

  async "an empty shop leads to the first job"(t) {
    const shop = await t.serve();
    const d = await t.tablet({ shop, known: false, width: 390 });
    const { page } = d;
    await d.go("/set-up");
    await page.fill("[name=name]", "Slip shed (invented)");
    await page.fill("[name=person]", "Runa Aasen");
    await page.fill("[name=pin]", "739402");
    await press(page, ".next .key.primary");
    await page.waitForURL("**/door**");
    await page.fill("#pin", "739402");
    await press(page, "form.pin .key.primary");
    await page.waitForSelector(".empty");
    t.ok(!(await page.isVisible(".demo-sign")), "a real shop carries no demo sign");
    await press(page, ".empty .key.primary");
    await page.waitForURL("**/jobs/new");
  },
};
