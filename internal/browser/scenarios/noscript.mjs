// A whole job without scripts, by readings that are typed.

export default {
  async "a whole job by typed readings"(t) {
    const d = await t.tablet({ width: 820, scripts: false, sign: false }), { page } = d;
    const send = async (selector, url) => {
      await page.locator(selector).first().click();
      await page.waitForURL(url);
    };
    await d.go("/door?person=1");
    await page.fill("#pin", "804937");
    await send("form.pin .primary", `${t.shop.base}/`);
    await d.go("/jobs/new");
    await page.fill("#book [name=serial]", "PLAIN-1");
    await page.selectOption("#book [name=model]", "0:orrin-30");
    await page.fill("#book [name=customer]", "Harbour painters");
    await page.fill("#book [name=complaint]", "Paint in the wet cup (invented).");
    await send(".next .primary", /\/jobs\/\d+\?done=booked/);
    const job = Number(/jobs\/(\d+)/.exec(page.url())[1]), at = `/jobs/${job}`;
    await page.fill("[name=text]", "Written without scripts.");
    await send("form[action$='/notes'] button", "**done=noted");
    await d.go(`${at}/found`);
    t.ok(await page.isDisabled("[data-press=start]"), "the live keys are off");
    t.ok(await page.isVisible("noscript a, .notice.warn a"), "the page leads to the typed readings");
    await page.locator(".caution button").first().click();
    await page.waitForURL(`**${at}/found`);
    t.ok(await page.isVisible("details.minded"), "a caution is acknowledged by the plain form");
    const type = async (hold, kind, fields) => {
      await d.go(`${at}/readings?hold=${hold}&kind=${kind}`);
      for (const [name, v] of Object.entries(fields)) {
        if (name === "stroke") await page.check(`form[action$='/readings'][method=post] [name=stroke][value=${v}]`, { force: true });
        else await page.fill(`form[action$='/readings'][method=post] [name=${name}]`, v);
      }
      await page.locator(".next .primary").click();
      await page.waitForLoadState();
      t.equal(await page.locator("#errors").count(), 0, `the ${kind} is kept`);
    };
    await type("as%20found", "creep", { stroke: "up", pressure: "2330 psi", travel: "60", time: "14.2" });
    await type("as%20found", "still", { stroke: "down", pressure: "160", time: "30", seen: "0.5" });
    await d.go(`${at}/found`);
    t.ok((await page.textContent("main")).includes("2330 psi"), "a reading keeps the unit in which it was typed");
    await send("form[action$='/judge'] button", `**${at}/verdict/*`);
    t.equal(await page.textContent(".verdict-word"), "does not hold", "the verdict as found");
    await d.go(`${at}/findings?part=rod`);
    await page.fill("[name=text]", "Bright.");
    await send("form[action$='/findings'][method=post] .keys button", "**done=kept");
    await d.go(`${at}/choose`);
    await page.check("input[name='part:throat leather ring'][value=replace]", { force: true });
    await send(".next .primary", `**${at}/work`);
    await send(".next .primary", "**/step?id=*");
    const first = page.url();
    while (await page.locator(".caution button").count()) {
      await page.locator(".caution button").first().click();
      await page.waitForURL(first);
    }
    if (await page.locator("form[action$='/soak']").count()) await page.locator("form[action$='/soak'] button").click();
    else await page.locator(".next .primary").click();
    await page.waitForURL((u) => u.href !== first);
    t.equal(await page.locator("#errors").count(), 0, "the first step is taken");
    for (const stroke of ["up", "down"]) await type("as%20left", "still", { stroke, pressure: "160", time: "120", seen: "0.5" });
    await d.go(`${at}/prove`);
    await send("form[action$='/judge'] button", `**${at}/verdict/*`);
    t.equal(await page.textContent(".verdict-word"), "holds", "the verdict as left");
    await d.go(`${at}/hand`);
    await page.fill("form[action$='/hand'] [name=to]", "Ove Lindgaard (invented)");
    await page.check("[name=on_paper]", { force: true });
    await send("form[action$='/hand'] .keys button", "**done=handed");
    t.equal(await page.locator("[name=good][value=yes]").count(), 0, "keys that close as good, while something is open");
    for (const box of await page.locator(".points [name=point]").all()) await box.check({ force: true });
    await page.fill("form[action$='/override'] [name=reason]", "Only looked at (invented).");
    await send("form[action$='/override'] button.danger", "**done=kept");
    await page.locator("form[action$='/close']").filter({ has: page.locator("[value=yes]") }).locator("button").click();
    await page.waitForURL("**done=closed");
  },
};
