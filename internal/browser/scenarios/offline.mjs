// A live hold whose network is cut in the middle.

import { bookIn, entry, get, plain, press, until } from "../kit.mjs";

const netWords = [/ERR_INTERNET_DISCONNECTED/, /ERR_FAILED/, /ERR_CONNECTION/, /Failed to fetch/, /net::ERR/];

/** presses reads what the shop knows of the presses of a hold, as its page says. */
async function known(t, d, job) {
  const html = await get(t.shop, d.ctx, `/jobs/${job}/found`);
  const m = /data-known="([^"]*)"/.exec(html);
  return JSON.parse(plain(m[1]));
}

/** rows gives the presses that the page lists, newest first, as "word state". */
const rows = (page) => page.$$eval("[data-presses] .press", (list) => list.map((li) => [li.querySelector("b").textContent, li.querySelector(".press-state").textContent, li.className]));
const seconds = async (page) => {
  const [m, s] = (await page.textContent("[data-hold-clock]")).split(":");
  return 60 * Number(m) + Number(s);
};

async function open(t, width = 820, allow = netWords) {
  const d = await t.tablet({ width, allow });
  const job = await bookIn(t.shop, d.ctx, "OFF-1");
  await d.go(`/jobs/${job}/found`);
  await d.page.waitForSelector("[data-press=start]:not([disabled])");
  return { ...d, job };
}

// keptPage waits until the service worker has this page.
const keptPage = (page) => page.waitForFunction(async () => {
  await navigator.serviceWorker.ready;
  return !!(await caches.match(location.href, { cacheName: "pages", ignoreVary: true }));
});

export default {
  async "presses made offline arrive once, in order, with their times"(t) {
    const d = await open(t), { page, ctx, job } = d;
    await keptPage(page);
    const at = [];
    const hit = async (what) => {
      await press(page, `[data-press=${what}]`);
      at.push(await seconds(page));
    };
    await hit("start");
    await until(async () => (await known(t, d, job)).length === 1, "the start is with the shop");
    await d.later(3000);
    await ctx.setOffline(true);
    await hit("mark");
    await page.fill("[data-hold-mark] input[name=rod]", "12");
    await page.press("[data-hold-mark] input[name=rod]", "Enter");
    await d.later(2000);
    await hit("top");
    await until(async () => /no network/i.test(await page.textContent("[data-netstrip]")), "the strip says that there is no network");
    const before = await seconds(page);
    await page.reload();
    await page.waitForSelector(".hold-keys.running [data-press=bottom]:not([disabled])");
    await d.later(100); // a frame is drawn
    t.ok(await seconds(page) >= before, `the watch goes on after a reload without a network: ${await seconds(page)} s after ${before} s`);
    await until(async () => (await rows(page)).length === 3, "all three presses are listed after the reload");
    const a = await seconds(page);
    await d.later(3000);
    const b = await seconds(page);
    t.ok(Math.abs(b - a - 3) < 0.11, `the watch ran ${b - a} s in three`);
    await hit("bottom");
    await hit("end");
    t.equal((await known(t, d, job).catch(() => "no network")) === "no network" ? 1 : (await known(t, d, job)).length, 1, "presses with the shop while the network is cut");
    await ctx.setOffline(false);
    const got = await d.until(async () => {
      const k = await known(t, d, job);
      return k.length === 5 && k;
    }, "five presses with the shop");
    t.equal(got.map((k) => k.press), ["start", "mark", "top", "bottom", "end"], "order of the presses");
    t.equal(got[1].rod, "12 mm", "the rod of the mark, with the unit of the page");
    const ms = got.map((k) => k.elapsed_ms);
    for (let i = 1; i < ms.length; i++) t.ok(ms[i] > ms[i - 1], `elapsed_ms rise: ${ms}`);
    t.equal(new Set(got.map((k) => k.key)).size, 5, "keys, each once");
    t.equal(new Set(got.map((k) => k.watch)).size, 1, "watches");
    for (let i = 1; i < 4; i++) t.ok(ms[i] / 1000 <= at[i] + 0.11, `press ${got[i].press} at ${ms[i]} ms was seen at ${at[i]} s: its time is that of the press`);
    t.note(`elapsed_ms ${ms.join(", ")}; seen on the clock just after: ${at.join(", ")} s`);
    await until(async () => (await rows(page)).every((r) => /sent/.test(r[2])), "the page says that all were sent");
    const history = await get(t.shop, ctx, `/jobs/${job}/history`);
    for (const k of got.slice(1)) t.equal(history.split(`>${k.elapsed_ms}<`).length - 1, 1, `times that ${k.elapsed_ms} ms stands in the history`);
  },

  async "an answer that was lost makes no double press"(t) {
    const d = await open(t), { page, job } = d;
    let lost = 0;
    await page.route(`**/jobs/${job}/entries`, async (route) => {
      const r = await route.fetch();
      if (lost++ < 2) { // the shop has it, its answer never comes
        t.ok(r.ok(), `the shop took it: ${r.status()}`);
        return route.abort("connectionreset");
      }
      return route.fulfill({ response: r });
    });
    await press(page, "[data-press=start]");
    await press(page, "[data-press=top]");
    await d.until(async () => (await rows(page)).length === 2 && (await rows(page)).every((r) => /sent/.test(r[2])), "both presses are sent");
    t.ok(lost >= 4, `two answers were lost of ${lost}`);
    t.equal((await known(t, d, job)).map((k) => k.press), ["start", "top"], "presses with the shop");
    await page.unroute(`**/jobs/${job}/entries`);
  },

  async "a press is undone"(t) {
    const d = await open(t), { page, job } = d;
    await press(page, "[data-press=start]");
    await press(page, "[data-press=top]");
    await until(async () => (await known(t, d, job)).length === 2, "two presses with the shop");
    await press(page, "[data-undo]");
    await until(async () => (await known(t, d, job)).length === 1, "the top is struck");
    await until(async () => /undone/i.test((await rows(page))[0][1]), "the page says so");
    const history = await get(t.shop, d.ctx, `/jobs/${job}/history`);
    t.ok(/undone at the bench/.test(history), "the reason stands in the history");
    t.ok(await page.isVisible(".hold-keys.running"), "the watch runs on");
    await page.reload();
    await page.waitForSelector(".hold-keys.running");
    t.equal((await rows(page)).filter((r) => !/struck/.test(r[2])).length, 1, "presses after a reload");
  },

  async "a refused press says why and can be mended"(t) {
    const d = await open(t, 820, [/status of 422/, /status of 400/]), { page, job } = d;
    await page.fill("[data-hold-setup] [name=pressure]", "9000");
    await press(page, "[data-press=start]");
    await until(async () => (await rows(page)).some((r) => /refused/.test(r[2])), "the start is shown as refused");
    const why = (await rows(page))[0][1];
    t.ok(/9000 bar/.test(why) && why.length > 30, `the page says why: ${why}`);
    t.ok(await page.isVisible("[data-netstrip]"), "the strip says that something was refused");
    await page.fill("[data-presses] .mend", "160 bar");
    await press(page, "[data-presses] .press .row .key:not(.quiet)");
    await until(async () => (await known(t, d, job)).length === 1, "the mended start is with the shop");
    t.equal((await known(t, d, job))[0].pressure, "160 bar", "its pressure");
    t.note(why);
  },

  async "what another tablet pressed is listed"(t) {
    const d = await open(t), { page, job, ctx } = d;
    await entry(t.shop, ctx, job, "pressed", { hold: "as found", watch: "w1", press: "start", elapsed_ms: 0, stroke: "up", pressure: "158 bar" });
    await page.reload();
    await until(async () => (await rows(page)).length === 1, "the press is listed");
  },
};
