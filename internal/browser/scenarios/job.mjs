// A whole job by touch on a tablet, from the code that lets the tablet in to the papers.

import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { get, newCode, PIN, press, until } from "../kit.mjs";

const SERIAL = "ALD-9301";

/** jpeg makes a photo in the browser: there is no camera. */
const jpeg = (page) => page.evaluate(() => new Promise((done) => {
  const c = document.createElement("canvas");
  c.width = 1600;
  c.height = 1200;
  const g = c.getContext("2d");
  const fade = g.createLinearGradient(0, 0, 1600, 1200);
  fade.addColorStop(0, "#345");
  fade.addColorStop(1, "#cba");
  g.fillStyle = fade;
  g.fillRect(0, 0, 1600, 1200);
  c.toBlob(async (b) => done([...new Uint8Array(await b.arrayBuffer())]), "image/jpeg", 0.8);
}));

async function comeIn(t, d) {
  const { page } = d, code = await newCode(t.shop);
  await d.go(`/let-in#${code}`);
  t.equal(await page.inputValue("[name=code]"), code, "the code of the address is filled in");
  t.ok(!page.url().includes(code), "the code is taken out of the address");
  await page.fill("[name=name]", "tablet 7");
  await press(page, ".keys .primary");
  await page.waitForURL("**/door**");
  await press(page, page.getByRole("link", { name: /Mara Kell/ }));
  await page.waitForSelector(".pinpad:not([hidden])");
  for (const digit of PIN) await press(page, page.locator(".pinpad button", { hasText: new RegExp(`^${digit}$`) }));
  await press(page, "form.pin .primary");
  await page.waitForSelector("#board");
}

async function bookIn(t, d) {
  const { page } = d;
  await press(page, page.locator(".mainnav").getByRole("link", { name: "Book in" }));
  await page.waitForSelector("#book");
  await page.fill("#book [name=serial]", SERIAL);
  await page.selectOption("#book [name=model]", "0:orrin-30");
  await page.fill("#book [name=customer]", "Harbour painters");
  await page.fill("#book [name=complaint]", "Creeps at the stall (invented).");
  await page.fill("#book [name=hours]", "210");
  await press(page, ".next .primary");
  await page.waitForURL(/\/jobs\/\d+\?done=booked/);
  const job = Number(/jobs\/(\d+)/.exec(page.url())[1]);
  t.ok(await page.isVisible(".notice.good"), "the page says that it was booked in");
  await page.fill("[name=text]", "Came with a bent drain hose.");
  await press(page, page.getByRole("button", { name: "Keep the note" }).or(page.locator("form[action$='/notes'] button")));
  await page.waitForURL("**?done=noted");
  t.ok((await page.textContent("main")).includes("bent drain hose"), "the note stands on the page");
  const file = join(t.shop.data, "photo.jpg");
  writeFileSync(file, Buffer.from(await jpeg(page)));
  await page.setInputFiles("input[name=photo]", file);
  await page.waitForSelector(".photos img");
  await until(() => page.evaluate(() => document.querySelector(".photos img").naturalWidth > 0), "the photo shows");
  return job;
}

async function holdFound(t, d, job) {
  const { page } = d;
  await press(page, ".next .primary");
  await page.waitForURL(`**/jobs/${job}/found`);
  await page.waitForSelector("[data-press=start]:not([disabled])");
  for (;;) { // each caution is acknowledged
    const key = page.locator(".caution button").first();
    if (!(await key.count())) break;
    const n = await page.locator(".caution button").count();
    await press(page, key);
    await page.waitForFunction((was) => document.querySelectorAll(".caution button").length < was, n);
  }
  await d.go(`/jobs/${job}/found`);
  await page.waitForSelector("[data-press=start]:not([disabled])");
  t.ok(await page.isVisible("details.minded summary"), "read cautions fold into one line");
  const watch = async (stroke, turn, marks) => {
    await press(page, `[data-hold-setup] label:has([value=${stroke}])`);
    await page.fill("[data-hold-setup] [name=pressure]", "160");
    await press(page, "[data-press=start]");
    for (const mm of marks) {
      await d.later(2000);
      await press(page, "[data-press=mark]");
      await page.fill("[data-hold-mark] [name=rod]", String(mm));
      await press(page, "[data-hold-mark] .primary");
      await page.waitForSelector("[data-hold-mark]", { state: "hidden" });
    }
    await d.later(2000);
    await press(page, `[data-press=${turn}]`);
    await press(page, "[data-press=end]");
    await page.waitForSelector(".hold-keys:not(.running)");
  };
  await watch("up", "top", [10, 25, 40]);
  await watch("down", "bottom", []);
  await until(() => page.evaluate(() => document.querySelectorAll("[data-presses] .press.sent").length === 9), "nine presses are sent");
  await page.waitForSelector("#outcome .verdict");
  await press(page, ".next .primary");
  await page.waitForURL(`**/jobs/${job}/verdict/*`);
  t.equal(await page.textContent(".verdict-word"), "does not hold", "verdict of a pump whose rod creeps");
  t.equal(await page.locator("h1").count(), 1, "headings of the first rank");
}

async function stripAndChoose(t, d, job) {
  const { page } = d;
  await d.go(`/jobs/${job}/findings?part=inlet%20valve%20seat`);
  await page.fill("[name=text]", "A groove across the face.");
  await press(page, page.locator("form[action$='/findings'][method=post] .keys button"));
  await page.waitForURL("**done=kept");
  t.ok(await page.isVisible(".notice.warn a[href*='/step?id=']"), "before anything is opened the page asks to isolate and relieve");
  await d.go(`/jobs/${job}/choose`);
  await press(page, page.locator("fieldset", { hasText: "inlet valve seat" }).locator("label", { hasText: "turn over" }).or(page.locator("input[name='part:inlet valve seat'][value='turn over'] + span")).first());
  for (const part of ["throat leather ring", "piston leather ring"]) await page.check(`input[name='part:${part}'][value=replace]`, { force: true });
  await press(page, ".next .primary");
  await page.waitForURL(`**/jobs/${job}/work`);
}

// work does every step in order: cautions, torques, a soak that is signed with its time.
async function work(t, d, job) {
  const { page } = d, seen = { refused: 0, steps: 0, cautions: 0, torques: 0, soaks: 0, adapters: 0, runs: 0 };
  await d.go(`/jobs/${job}/work`);
  await press(page, ".next .primary");
  for (;;) {
    await page.waitForURL(/\/(step\?id|run\?from)=/);
    const to = page.url().slice(t.shop.base.length);
    if (to.includes("/run?")) { // plain steps that follow each other, each listed
      const n = await page.locator(".run li").count();
      t.ok(n > 1, `${n} steps on ${to}`);
      await press(page, ".next .primary");
      await page.waitForURL((u) => !u.href.endsWith(to));
      seen.steps += n;
      seen.runs++;
      continue;
    }
    if (await page.locator("a[href$='/prove'].key.big").count()) break; // the hold of the proof
    t.equal(await page.locator("h1").count(), 1, `headings of the first rank on ${to}`);
    while (await page.locator(".caution button").count()) {
      const n = await page.locator(".caution button").count();
      if (seen.refused === 0) { // not before the cautions are read
        await press(page, ".next .primary");
        await page.waitForSelector("#errors");
        t.ok(/caution/i.test(await page.textContent("#errors")), "a step is not signed before its cautions are read");
        await d.go(to);
        seen.refused++;
        continue;
      }
      await press(page, page.locator(".caution button").first());
      await page.waitForFunction((was) => document.querySelectorAll(".caution button").length < was, n);
      seen.cautions++;
    }
    if (await page.locator("form[action$='/soak']").count()) {
      await press(page, "form[action$='/soak'] button");
      await page.waitForLoadState();
      await page.waitForFunction(() => /\d:\d\d/.test(document.querySelector("[data-soak] [data-soak-left]")?.textContent ?? ""));
      await d.go(to);
      await page.fill("[name=soaked]", "60");
      seen.soaks++;
    }
    if (await page.locator("[name=torque]").count()) {
      t.equal(await page.locator("#f-tool label", { hasText: "gauge" }).count(), 0, "gauges offered as torque wrenches");
      if (await page.locator("[name=turn]").count()) { // how the spanner sits is asked, and the figure is what to set on this wrench
        t.equal(await page.locator(".torque .num-xl").count(), 0, "figures to set before it is said how the spanner sits");
        await press(page, page.locator("label:has([name=turn][value=line])"));
        seen.adapters++;
      }
      await page.waitForSelector(".torque .num-xl");
      const set = await page.locator(".torque .num-xl").evaluate((e) => e.firstChild.textContent.trim());
      await page.fill("[name=torque]", set);
      seen.torques++;
    }
    await press(page, ".next .primary");
    await page.waitForURL((u) => !u.href.endsWith(to));
    if (page.url().endsWith("/work")) break;
    const wrong = await page.locator("#errors").count() ? await page.textContent("#errors") : "";
    t.equal(wrong, "", `the step ${to} is signed`);
    if (++seen.steps > 90) throw new Error("more than 90 steps");
  }
  t.note(`${seen.steps} steps, ${seen.runs} runs of plain ones, ${seen.cautions} cautions, ${seen.torques} torques (${seen.adapters} with an adapter), ${seen.soaks} soaks`);
  t.ok(seen.steps > 10 && seen.torques > 0 && seen.soaks > 0, `steps, torques and soaks were met: ${JSON.stringify(seen)}`);
}

async function prove(t, d, job) {
  const { page } = d;
  const type = async (kind, fields) => {
    await d.go(`/jobs/${job}/readings?hold=as%20left&kind=${kind}`);
    for (const [name, v] of Object.entries(fields)) {
      if (name === "stroke") await press(page, `label:has([name=stroke][value=${v}])`);
      else if (name === "path") await page.selectOption("[name=path]", v);
      else await page.fill(`form[action$='/readings'] [name=${name}]`, v);
    }
    await press(page, page.locator(".next .primary"));
    await page.waitForURL((u) => !u.search.includes(`kind=${kind}`) || u.search.includes("done"));
    t.equal(await page.locator("#errors").count(), 0, `the ${kind} is kept`);
  };
  for (const stroke of ["up", "down"]) await type("still", { stroke, pressure: "160", time: "120", seen: "0.5" });
  await d.go(`/jobs/${job}/readings?hold=as%20left&kind=drips`);
  const paths = await page.$$eval("[name=path] option", (o) => o.map((x) => x.value).filter(Boolean));
  for (const path of paths) await type("drips", { path, pressure: "160", time: "120", drops: "0" });
  await d.go(`/jobs/${job}/prove`);
  await press(page, ".next .primary");
  await page.waitForURL(`**/jobs/${job}/verdict/*`);
  t.equal(await page.textContent(".verdict-word"), "holds", "verdict of a pump that stands still on both strokes");
  await press(page, ".next .primary"); // what holds is relieved before it is handed over
  await page.waitForURL("**/step?id=relieve");
  while (await page.locator(".caution button").count()) {
    const n = await page.locator(".caution button").count();
    await press(page, page.locator(".caution button").first());
    await page.waitForFunction((was) => document.querySelectorAll(".caution button").length < was, n);
  }
  await press(page, ".next .primary");
  await page.waitForURL(`**/jobs/${job}/work`);
}

async function handOver(t, d, job) {
  const { page } = d;
  await d.go(`/jobs/${job}/hand`);
  await page.selectOption("[name=item]", await page.locator("[name=item] option", { hasText: "work at the bench" }).getAttribute("value"));
  await page.fill("[name=quantity]", "1.5");
  await press(page, "form[action$='/prices'] .keys button");
  await page.waitForURL("**done=kept");
  t.ok(/96\.00|96,00/.test(await page.textContent("main")), "1.5 hours of 64 are 96");
  await page.fill("[name=to]", "Ove Lindgaard (invented)");
  const pad = page.locator("[data-sign-pad]");
  await pad.scrollIntoViewIfNeeded();
  const box = await pad.boundingBox();
  await page.mouse.move(box.x + 40, box.y + 60);
  await page.mouse.down();
  for (let i = 1; i <= 12; i++) await page.mouse.move(box.x + 40 + 22 * i, box.y + 60 + (i % 2 ? 30 : -20));
  await page.mouse.up();
  t.ok(/^M\d+ \d+L/.test(await page.inputValue("[name=signature]")), "the signature is a path");
  await press(page, "form[action$='/hand'] .keys button");
  await page.waitForURL("**done=handed");
  t.ok(await page.isVisible("svg.signature"), "the signature shows");
  t.equal(await page.$$eval(".points li:not(.answered)", (l) => l.map((e) => e.textContent.trim().slice(0, 200))), [], "what is open before the closing");
  await press(page, page.locator("form[action$='/close']").filter({ has: page.locator("[name=good][value=yes]") }).locator("button"));
  await page.waitForURL("**done=closed");
}

async function papers(t, d, job) {
  for (const name of ["report", "customer"]) {
    const r = await d.ctx.request.get(`${t.shop.base}/jobs/${job}/${name}.pdf`);
    const body = await r.body();
    t.equal(r.status(), 200, `${name}.pdf`);
    t.ok(body.subarray(0, 5).toString() === "%PDF-" && body.length > 4000, `${name}.pdf is a PDF of ${body.length} bytes`);
    const file = join(t.shop.data, `${name}.pdf`);
    writeFileSync(file, body);
    let text;
    try {
      text = execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8" });
    } catch (err) {
      if (err.code === "ENOENT") {
        t.note("pdftotext is not there: the text of the papers was not read");
        return;
      }
      throw err;
    }
    for (const want of [SERIAL, "Harbour painters", name === "report" ? "does not hold" : "holds"]) t.ok(text.includes(want), `${name}.pdf says ${want}`);
  }
  await d.go(`/jobs/${job}/report?as=html`);
  t.ok((await d.page.textContent("body")).includes(SERIAL), "the report page says the serial");
}

export default {
  async "a whole job by touch"(t) {
    const d = await t.tablet({ known: false, width: 820, allow: [/status of 403/] });
    await comeIn(t, d);
    const job = await bookIn(t, d);
    await holdFound(t, d, job);
    await stripAndChoose(t, d, job);
    await work(t, d, job);
    await prove(t, d, job);
    await handOver(t, d, job);
    await papers(t, d, job);
    const html = await get(t.shop, d.ctx, `/jobs/${job}`);
    t.ok(!html.includes('class="next"'), "a closed job has no next action");
  },
};
