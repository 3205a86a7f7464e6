// Writes pictures of the main pages to docs/screens: node internal/browser/pictures.mjs PROGRAM, which is cmd/shop, or EVENSTROKE_BIN. All
// that they show is invented.

import { mkdirSync, readdirSync, rmSync, statSync } from "node:fs";
import { join } from "node:path";
import { bookIn, entry, get, host, launch, plain, post, press, serve, tablet, until } from "./kit.mjs";

const out = new URL("../../docs/screens/", import.meta.url).pathname, MOST = 200e3;
const bin = process.argv[2] ?? process.env.EVENSTROKE_BIN;

async function readAll(shop, ctx, job, path) {
  for (const m of (await get(shop, ctx, path)).matchAll(/name="caution" value="([^"]*)"/g)) {
    await post(shop, ctx, `/jobs/${job}/mind`, { key: `pic-${Math.random()}`, caution: plain(m[1]), back: path });
  }
}

async function shoot(d, name, height = 0) {
  await d.page.evaluate(() => document.activeElement?.blur());
  await d.later(300);
  const path = join(out, `${name}.png`), view = d.page.viewportSize();
  await d.page.screenshot({ path, clip: { x: 0, y: 0, width: view.width, height: height || view.height } });
  const size = statSync(path).size;
  if (size > MOST) throw new Error(`${name}.png has ${size} bytes, at most ${MOST} are wanted`);
  console.log(`${name}.png ${(size / 1000).toFixed(0)} kB`);
}

async function running(shop, d, job, stroke) {
  await readAll(shop, d.ctx, job, `/jobs/${job}/found`);
  await d.go(`/jobs/${job}/found`);
  await d.page.waitForSelector("[data-press=start]:not([disabled])");
  await press(d.page, `[data-hold-setup] label:has([value=${stroke}])`);
  await press(d.page, "[data-press=start]");
  for (const mm of [12, 19]) {
    await d.later(2500);
    await press(d.page, "[data-press=mark]");
    await d.page.fill("[data-hold-mark] [name=rod]", String(mm));
    await press(d.page, "[data-hold-mark] .primary");
    await d.page.waitForSelector("[data-hold-mark]", { state: "hidden" });
  }
  await until(() => d.page.evaluate(() => document.querySelector("#outcome .verdict") !== null && document.querySelectorAll("[data-presses] .press.sent").length === 3), "an outcome");
  await d.page.evaluate(() => scrollTo(0, 0));
}

async function all(shop, browser) {
  const d = await tablet(shop, browser, { width: 820 }), phone = await tablet(shop, browser, { width: 390 }), desk = await tablet(shop, browser, { width: 1440 });
  const job = await bookIn(shop, d.ctx, "ALD-0417"), add = (kind, body) => entry(shop, d.ctx, job, kind, body);
  await d.go("/");
  await shoot(d, "board");
  await d.go("/jobs/new?serial=ALD-0417");
  await shoot(d, "book-in");
  await running(shop, d, job, "up");
  await shoot(d, "hold-running");
  await post(shop, d.ctx, "/me/look", { look: "dark", back: "/" });
  const other = await bookIn(shop, d.ctx, "ALD-0388", "orrin-30");
  await running(shop, phone, other, "up");
  await shoot(phone, "hold-running-phone-dark");
  await d.go("/jobs/1");
  await shoot(d, "job-dark");
  await post(shop, d.ctx, "/me/look", { look: "", back: "/" });
  const verdict = /\/jobs\/1\/verdict\/\d+/.exec(await get(shop, d.ctx, "/jobs/1"))[0];
  await d.go(verdict);
  await shoot(d, "verdict");
  await desk.go("/jobs/1");
  await shoot(desk, "job-desk");
  const steps = [...(await get(shop, d.ctx, "/jobs/1/work")).matchAll(/href="(\/jobs\/1\/step\?id=[^"]*)"/g)].map((m) => plain(m[1]));
  for (const [start, name] of [["stack", "step-stack"], ["torque", "step-torque"]]) {
    const step = steps.find((s) => new URLSearchParams(s.split("?")[1]).get("id").startsWith(start));
    await readAll(shop, d.ctx, 1, step);
    await d.go(step);
    await shoot(d, name);
  }
  await add("read", { hold: "as left", reading: { still: "up", pressure: "160 bar", time: "120 s", seen: "0.5 mm" } });
  await add("read", { hold: "as left", reading: { still: "down", pressure: "160 bar", time: "120 s", seen: "0.5 mm" } });
  await post(shop, d.ctx, `/jobs/${job}/judge`, { key: "pic-judge", hold: "as left" });
  await post(shop, d.ctx, `/jobs/${job}/prices`, { key: "pic-price", item: "2", quantity: "1", text: "", each: "" });
  await d.go(`/jobs/${job}/hand`);
  await shoot(d, "hand-over");
}

mkdirSync(out, { recursive: true });
for (const f of readdirSync(out)) if (f.endsWith(".png")) rmSync(join(out, f));
const browser = await launch(), shop = await serve(bin, "--demo");
try {
  await host(shop, browser);
  await all(shop, browser);
} finally {
  await browser.close();
  await shop.stop();
}
