// Two tablets at one job.

import { bookIn, get, JONAS, MARA, press } from "../kit.mjs";

export default {
  async "the second correction of a booking is a conflict that can be mended"(t) {
    const a = await t.tablet({ width: 820, who: MARA }), b = await t.tablet({ width: 820, who: JONAS, allow: [/status of 409/] });
    const job = await bookIn(t.shop, a.ctx, "TWO-1");
    await a.go(`/jobs/${job}/booked`);
    await b.go(`/jobs/${job}/booked`);
    await a.page.fill("#book [name=complaint]", "Knocks at the top.");
    await press(a.page, ".next .primary");
    await a.page.waitForURL("**done=kept");
    await b.page.fill("#book [name=complaint]", "Knocks at the bottom.");
    await press(b.page, ".next .primary");
    await b.page.waitForSelector("#errors");
    const said = await b.page.textContent("#errors");
    t.note(said.replace(/\s+/g, " ").trim());
    t.ok(/expected entry \d+ as the last/.test(said) && /send it again/.test(said) && !/\bconflict\b/.test(said) && said.length > 60, "the conflict is told");
    t.equal(await b.page.inputValue("#book [name=complaint]"), "Knocks at the bottom.", "what was typed stays");
    t.ok((await get(t.shop, a.ctx, `/jobs/${job}`)).includes("Knocks at the top."), "the first correction is not lost by it");
    await press(b.page, ".next .primary");
    await b.page.waitForURL("**done=kept");
    const html = await get(t.shop, a.ctx, `/jobs/${job}/history`);
    for (const text of ["Knocks at the top.", "Knocks at the bottom."]) t.ok(html.includes(text), `the history has ${text}`);
  },

  async "the board of one shows what the other did"(t) {
    const a = await t.tablet({ width: 820, who: MARA }), b = await t.tablet({ width: 390, who: JONAS });
    let heard = false;
    a.page.on("response", (r) => { heard ||= r.url().endsWith("/board/events"); });
    await a.go("/");
    await a.until(() => heard, "the shop answers the stream of the board: from now on it tells what is written");
    await a.page.evaluate(() => {
      window.sameDocument = true;
      document.querySelector(".mainnav a").focus();
    });
    const job = await bookIn(t.shop, b.ctx, "TWO-2");
    await a.until(() => a.page.locator(`.job-card[href="/jobs/${job}"]`).count(), "the card of the booking on tablet B stands on the board of tablet A");
    t.ok(await a.page.evaluate(() => document.activeElement?.closest(".mainnav") !== null), "the focus stays where it was");
    t.ok(await a.page.evaluate(() => window.sameDocument), "without a reload");
  },
};
