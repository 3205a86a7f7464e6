// Who may close a job as good, and when.

import { bookIn, entry, get, ILSE, JONAS, post, press } from "../kit.mjs";

export default {
  async "blocked without a proof, good by a person's word with a reason"(t) {
    const d = await t.tablet({ width: 820, who: JONAS, allow: [/status of 422/, /status of 403/] }), { page, ctx } = d;
    const job = await bookIn(t.shop, ctx, "CLOSE-1");
    await d.go(`/jobs/${job}/hand`);
    t.equal(await page.locator("[name=good][value=yes]").count(), 0, "keys that close as good, without a proof");
    t.ok(/open before it can be closed as good/.test(await page.textContent("main")), "the page says why");
    t.ok((await page.locator(".points li:not(.answered)").count()) >= 3, "what is open is listed: no proof, no hand-over, no bill");
    const forced = await post(t.shop, ctx, `/jobs/${job}/close`, { key: "close-forced", good: "yes" });
    t.equal(forced.status(), 403, "status of closing as good all the same");
    await entry(t.shop, ctx, job, "read", { hold: "as left", reading: { creep: "up", pressure: "160 bar", travel: "60 mm", time: "4 s" } });
    await entry(t.shop, ctx, job, "read", { hold: "as left", reading: { creep: "down", pressure: "160 bar", travel: "60 mm", time: "4 s" } });
    await post(t.shop, ctx, `/jobs/${job}/judge`, { key: "close-judge", hold: "as left" });
    await d.go(`/jobs/${job}/hand`);
    t.equal(await page.textContent(".verdict-word"), "does not hold", "the verdict as left");
    t.equal(await page.locator("[name=good][value=yes]").count(), 0, "keys that close as good, when it does not hold");
    const answer = async () => { // for each point that is open
      for (const point of await page.locator(".points label.check").all()) await press(page, point);
    };
    await answer();
    const reason = page.locator("form[action$='/override'] [name=reason]");
    t.ok(await reason.evaluate((e) => e.required), "a reason is asked for");
    await reason.evaluate((e) => { e.required = false; });
    await press(page, "form[action$='/override'] button");
    await page.waitForSelector("#errors");
    t.ok(/reason/i.test(await page.textContent("#errors")), "an override without a reason is refused");
    const field = page.locator("form[action$='/override'] [name=reason]");
    t.equal(await page.locator(".points input:not(:checked)").count(), 0, "points that are not ticked any more after the refusal");
    t.equal(await field.getAttribute("aria-invalid"), "true", "the field of the reason is marked");
    await field.fill("Throat seeps by design of the test rig (invented).");
    await press(page, "form[action$='/override'] button");
    await page.waitForURL("**done=kept");
    t.ok(/test rig/.test(await page.textContent(".points .answered")), "the override stands beside what it answers, with its reason");
    t.equal(await page.locator(".points li:not(.answered)").count(), 0, "points that are open when somebody has answered for all");
    await press(page, page.locator("form[action$='/close']").filter({ has: page.locator("[value=yes]") }).locator("button"));
    await page.waitForURL("**done=closed");
    const refused = await entry(t.shop, ctx, job, "found", { part: "rod", text: "too late" }).then(() => "", (e) => e.message);
    t.ok(/closed/.test(refused), `a closed job takes no finding: ${refused}`);
    await entry(t.shop, ctx, job, "noted", { text: "a note is always taken" });
    for (const p of ["findings", "choose", "hand", "readings"]) {
      await d.go(`/jobs/${job}/${p}`);
      t.equal(await page.locator("main form[method=post]:not([data-photo])").count(), 0, `forms of ${p} on a closed job`);
    }
    await d.go(`/jobs/${job}/found`);
    t.equal(await page.locator("[data-press]").count(), 0, "keys of a hold on a closed job");
    await d.go(`/jobs/${job}`);
    await page.fill("form[action$='/reopen'] [name=reason]", "The customer brought it back.");
    await press(page, "form[action$='/reopen'] button");
    await page.waitForURL("**done=reopened");
    t.equal(await page.locator("form[action$='/close']").count() + (await page.locator(".next", { hasText: "Close the job" }).count()), 0, "a job that was opened again is not told to be closed");
    await d.go(`/jobs/${job}/hand`);
    t.ok((await page.locator(".points li:not(.answered)").count()) > 0, "what was answered before the job was opened again is open");
    t.equal(await page.locator("[name=good][value=yes]").count(), 0, "keys that close as good, after it was opened again");
    await entry(t.shop, ctx, job, "found", { part: "rod", text: "open again" });
    t.ok((await get(t.shop, ctx, `/jobs/${job}/findings`)).includes("open again"), "a job that was opened again takes entries");
  },

  async "not proven yet blocks; a technician may not override"(t) {
    const d = await t.tablet({ width: 820, who: ILSE, allow: [/status of 403/] }), { page, ctx } = d;
    const job = await bookIn(t.shop, ctx, "CLOSE-2");
    await entry(t.shop, ctx, job, "read", { hold: "as left", reading: { still: "up", pressure: "160 bar", time: "3 s", seen: "20 mm" } });
    await post(t.shop, ctx, `/jobs/${job}/judge`, { key: "close-judge-2", hold: "as left" });
    await d.go(`/jobs/${job}/hand`);
    t.equal(await page.textContent(".verdict-word"), "not proven yet", "the verdict of three seconds");
    t.equal(await page.locator("[name=good][value=yes]").count(), 0, "keys that close as good, when it is not proven");
    t.equal(await page.locator("form[action$='/override']").count(), 0, "forms of the override for a technician");
    t.ok(/May answer for what is open:.*Mara Kell/s.test(await page.textContent("main")), "the page names who may");
    const r = await post(t.shop, ctx, `/jobs/${job}/override`, { key: "close-over-2", reason: "because", point: "proof" });
    t.equal(r.status(), 403, "status of an override by a technician");
    await press(page, page.locator("details.fold summary", { hasText: "not good" }));
    await page.fill("[name=closereason]", "The customer took it back as it is.");
    await press(page, page.locator("form[action$='/close'] .danger"));
    await page.waitForURL("**done=closed");
  },
};
