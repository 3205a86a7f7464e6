// Units, language and look, switched in the middle of a form; and a shop in Spanish.

import { readFileSync } from "node:fs";
import { bookIn, entry, get, ILSE, JONAS, MARA, plain, post, press, TOMAS } from "../kit.mjs";

export default {
  async "what was typed stays, values keep their unit"(t) { // Jonas: what a person chose holds on all devices
    const d = await t.tablet({ width: 820, who: JONAS }), { page, ctx } = d;
    const job = await bookIn(t.shop, ctx, "SWITCH-1");
    const at = `/jobs/${job}/readings?hold=as%20found&kind=creep`;
    await d.go(at);
    await page.fill("form[data-draft] [name=pressure]", "158");
    await page.fill("form[data-draft] [name=travel]", "60");
    await page.fill("form[data-draft] [name=time]", "14");
    await page.fill("form[data-draft] [name=note]", "gun shut");
    const choose = async (name, value) => {
      await press(page, "details.menu summary");
      await press(page, `button[name=${name}][value="${value}"]`);
      await page.waitForURL(t.shop.base + at);
      await page.waitForSelector(".draft-note");
    };
    await choose("units", "imperial");
    t.equal(await page.inputValue("form[data-draft] [name=pressure]"), "158 bar", "a pressure typed in bar, on a page in psi");
    t.equal(await page.inputValue("form[data-draft] [name=travel]"), "60 mm", "a travel typed in mm, on a page in inches");
    t.equal(await page.inputValue("form[data-draft] [name=time]"), "14", "a time");
    t.equal(await page.inputValue("form[data-draft] [name=note]"), "gun shut", "a text");
    await choose("look", "dark");
    t.ok(/look-dark/.test(await page.getAttribute("html", "class")), "the look is dark");
    await choose("lang", "es");
    t.equal(await page.getAttribute("html", "lang"), "es", "the language of the page");
    t.equal(await page.inputValue("form[data-draft] [name=pressure]"), "158 bar", "the pressure after three switches");
    await press(page, ".next .primary");
    await page.waitForURL((u) => u.href !== t.shop.base + at);
    const html = await get(t.shop, ctx, `/jobs/${job}/found`);
    t.ok(html.includes("158 bar") && html.includes("60 mm"), "the shop has what was typed, in its units");
    for (const [k, v] of [["units", "metric"], ["look", ""], ["lang", "en"]]) await post(t.shop, ctx, `/me/${k}`, { [k]: v, back: "/" });
  },

  async "units are those of the person"(t) {
    const a = await t.tablet({ width: 820, who: MARA }), b = await t.tablet({ width: 820, who: ILSE });
    const job = await bookIn(t.shop, a.ctx, "SWITCH-2");
    for (const [d, unit, value] of [[a, "bar", "160"], [b, "psi", "2330"]]) {
      await d.go(`/jobs/${job}/found`);
      t.equal(await d.page.getAttribute("[data-hold-setup] [name=pressure]", "data-unit"), unit, "unit of the pressure");
      t.ok((await d.page.inputValue("[data-hold-setup] [name=pressure]")).startsWith(value.slice(0, 2)), `the pressure of the sheet in ${unit}`);
    }
  },

  async "pages in Spanish have no English key"(t) {
    const d = await t.tablet({ width: 820, who: TOMAS, locale: "es-ES" }), { page, ctx } = d;
    const en = JSON.parse(readFileSync(new URL("../../text/catalogue/en.json", import.meta.url), "utf8"));
    const es = JSON.parse(readFileSync(new URL("../../text/catalogue/es.json", import.meta.url), "utf8"));
    const same = new Set(Object.values(es).filter((v) => typeof v === "string"));
    const english = Object.entries(en).filter(([k, v]) => typeof v === "string" && v.length > 5 && !v.includes("%") && !same.has(v) && !k.startsWith("report.")).map(([, v]) => v);
    const job = await bookIn(t.shop, ctx, "SWITCH-3");
    await entry(t.shop, ctx, job, "read", { hold: "as found", reading: { still: "up", pressure: "160 bar", time: "60 s", seen: "0.5 mm" } });
    await post(t.shop, ctx, `/jobs/${job}/judge`, { key: "switch-judge", hold: "as found" });
    await entry(t.shop, ctx, job, "chose", { parts: { "throat leather ring": "replace" } });
    const steps = plain(/href="(\/jobs\/\d+\/step\?id=[^"]*)"/.exec(await get(t.shop, ctx, `/jobs/${job}/work`))[1]);
    const bad = [];
    for (const p of ["/", "/search", "/jobs/new", `/jobs/${job}`, `/jobs/${job}/booked`, `/jobs/${job}/found`, `/jobs/${job}/readings`, `/jobs/${job}/findings`, `/jobs/${job}/choose`, `/jobs/${job}/work`, steps,
      `/jobs/${job}/hand`, `/jobs/${job}/history`, `/jobs/${job}/tag`, `/jobs/${job}/report`, "/me", "/door", "/catalogue", "/catalogue/tool", "/catalogue/tool/1", "/catalogue/person", "/tokens", "/devices/code", "/let-in", "/trust"]) {
      await d.go(p);
      if ((await page.getAttribute("html", "lang")) !== "es") bad.push(`${p}: not in Spanish`);
      const texts = await page.evaluate(() => { // what is marked as English, and what people wrote, is left out
        const out = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
        while (walk.nextNode()) {
          const e = walk.currentNode.parentElement;
          if (!e.closest("[lang=en], script, style, svg, code, option, .job-what, .history ins, .history del")) out.push(walk.currentNode.textContent.trim());
        }
        for (const e of document.querySelectorAll("[aria-label], [placeholder]")) if (!e.closest("[lang=en], svg")) out.push(e.getAttribute("aria-label") ?? "", e.getAttribute("placeholder") ?? "");
        return out.filter(Boolean);
      });
      for (const s of texts) {
        if (english.includes(s)) bad.push(`${p}: English: ${s}`);
        if (/^\[?[a-z]+(\.[a-z]+)+\]?$/.test(s) || /\[[a-z.]+\]|%!?[a-z(]/.test(s)) bad.push(`${p}: a key or a placeholder: ${s}`);
      }
    }
    if (bad.length) throw new Error(bad.join("\n"));
  },
};
