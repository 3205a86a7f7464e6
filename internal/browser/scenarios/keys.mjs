// Keys: a tap, a slip, a scroll, a second finger, a mouse and a keyboard make one press or none, on every page that has keys.

import { bookIn, get, JONAS, MARA, post, press, until } from "../kit.mjs";

const netWords = [/ERR_INTERNET_DISCONNECTED/, /Failed to fetch/, /net::ERR/];
const STEP = 20; // px between two positions of the page

/** taps counts what reaches the window before any guard does, so that a test knows when a tap is over. */
const taps = () => {
  window.seen = { click: 0, pointerup: 0 };
  for (const kind of Object.keys(window.seen)) addEventListener(kind, () => window.seen[kind]++, true);
};

/** open opens the hold of a new job; its cautions are read. */
async function open(t, how, serial) {
  const d = await t.tablet({ allow: netWords, ...how });
  await d.ctx.addInitScript(taps);
  const job = await bookIn(t.shop, d.ctx, serial);
  await d.go(`/jobs/${job}/found`);
  await d.page.waitForSelector("[data-press=start]:not([disabled])");
  await readAll(d);
  return { ...d, job, finger: await fingerOf(d) };
}

async function readAll({ page }) {
  for (let n; (n = await page.locator(".caution button").count());) {
    await press(page, ".caution button:visible");
    await until(async () => (await page.locator(".caution button").count()) < n, "the caution is read");
  }
}

/** fingerOf gives the fingers of a tablet: down and up at places, each by its number. */
async function fingerOf({ ctx, page }) {
  const cdp = await ctx.newCDPSession(page), at = new Map();
  const send = (type) => cdp.send("Input.dispatchTouchEvent", { type, touchPoints: [...at].map(([id, [x, y]]) => ({ id, x, y })) });
  return {
    async down(id, x, y) {
      at.set(id, [x, y]);
      await send("touchStart");
    },
    async move(id, x, y) {
      at.set(id, [x, y]);
      await send("touchMove");
    },
    async up(id) {
      at.delete(id);
      await send("touchEnd");
    },
  };
}

/** made lists what this device keeps: the presses in their order, and "undo" for each that was taken back. */
const made = (page) => page.evaluate(() => new Promise((done, fail) => {
  const r = indexedDB.open("evenstroke", 1);
  r.onerror = () => fail(r.error);
  r.onsuccess = () => {
    const all = r.result.transaction("entries").objectStore("entries").getAll();
    all.onsuccess = () => {
      r.result.close();
      done(all.result.filter((e) => e.state !== "left" && e.kind !== "minded").map((e) => (e.kind === "struck" ? "undo" : e.body.press ?? e.kind)));
    };
  };
}));

/** centre gives the middle of what is shown of an element, null when nothing of it can be touched there. */
const centre = (page, selector) => page.evaluate((s) => {
  const e = document.querySelector(s), r = e.getBoundingClientRect(), x = r.x + r.width / 2, y = r.y + r.height / 2;
  return y > 0 && y < innerHeight && e.contains(document.elementFromPoint(x, y)) ? [x, y] : null;
}, selector);

/** tap taps a place and waits until the browser has made its click; of a tap right after a slide it may make none, only the end of the touch. */
async function tap(page, [x, y], over = "click") {
  const before = await page.evaluate((kind) => window.seen[kind], over);
  await page.touchscreen.tap(x, y);
  await until(() => page.evaluate(([kind, n]) => window.seen[kind] > n, [over, before]), `the ${over} of the tap`);
}

/** atTop brings the page to its top; a scroll of a finger may go on for a while by itself, so it looks until nothing moves any more. */
async function atTop(page) {
  let quiet = 0;
  await until(async () => {
    const y = await page.evaluate(() => {
      const was = scrollY;
      scrollTo(0, 0);
      return was;
    });
    quiet = y === 0 ? quiet + 1 : 0;
    return quiet >= 6;
  }, "the page stands still at its top");
}

/** sweep taps start, mark, end and undo wherever the page is scrolled to. */
async function sweep(t, width) {
  const d = await open(t, { width }, `SWEEP-${width}`), { page, ctx } = d;
  await press(page, "[data-press=start]"); // with an outcome below them, the page is as long as it gets
  await d.later(4000);
  await press(page, "[data-press=end]");
  await page.waitForSelector("#outcome .verdict-word");
  await d.later(2000);
  await page.evaluate(() => document.body.style.setProperty("padding-bottom", "1200px", "important")); // so that every key can be scrolled to the top
  await ctx.setOffline(true); // presses are kept: nothing is waited for
  const wait = () => ctx.clock.fastForward(1500);
  const scrolled = (y) => page.evaluate((to) => (scrollTo(0, to), scrollY), y);
  const reach = { start: "[data-press=start]", mark: "[data-press=mark]", end: "[data-press=end]", undo: "[data-undo]" }, tried = { start: 0, mark: 0, end: 0, undo: 0 };
  let have = await made(page);
  // make presses a key where it can be touched, else as a keyboard does, so that every round is whole.
  const make = async (what, y) => {
    await scrolled(y);
    const at = await centre(page, reach[what]);
    if (at) {
      tried[what]++;
      await tap(page, at);
    } else await page.evaluate((s) => document.querySelector(s).click(), reach[what]);
    const now = await until(async () => {
      const all = await made(page);
      return all.length > have.length && all;
    }, `${width} px, scrolled by ${y}: a press of ${what}`);
    t.equal(now.slice(have.length), [what], `${width} px, scrolled by ${y}: presses by one ${at ? `tap on ${what} at ${Math.round(at[1])}` : `press of ${what}`}`);
    have = now;
    const runs = what === "start" || what === "mark";
    await until(async () => (await page.locator(".hold-keys.running").count() > 0) === runs, `the page after ${what}`);
    await wait();
  };
  const bottom = await scrolled(1e6);
  for (let y = 0, seen = 1; y <= bottom && seen; y += STEP) {
    const before = Object.values(tried).reduce((a, b) => a + b);
    await make("start", y);
    await make("undo", y); // the start: no watch runs
    await make("start", y);
    await make("mark", y);
    await page.evaluate(() => document.querySelector("[data-mark-without]").click());
    await wait();
    await make("end", y);
    seen = Object.values(tried).reduce((a, b) => a + b) - before;
  }
  t.note(`${width} px, ${bottom} px to scroll: taps ${JSON.stringify(tried)}`);
  for (const [what, n] of Object.entries(tried)) t.ok(n >= 10, `${what} was tapped at ${n} positions`);
}

export default {
  "a tap makes one press at every scroll position of a phone": (t) => sweep(t, 390),
  "a tap makes one press at every scroll position of a tablet": (t) => sweep(t, 820),

  async "a slip, a scroll, two fingers and a quick second tap make one press or none"(t) {
    const d = await open(t, { width: 390 }, "SLIP-1"), { page, finger, ctx } = d;
    await ctx.setOffline(true);
    const wait = () => ctx.clock.fastForward(1500), key = (k) => centre(page, `[data-press=${k}]`);
    const makes = async (want, what, gesture) => {
      const before = (await made(page)).length;
      await gesture();
      await page.evaluate(() => new Promise((done) => { // what the browser still has to tell the page is told
        const c = new MessageChannel();
        c.port1.onmessage = done;
        c.port2.postMessage(0);
      }));
      t.equal((await made(page)).slice(before), want, `presses by ${what}`);
      await wait();
    };
    const [sx, sy] = await key("start");
    await makes([], "a finger that slides off Start", async () => {
      await finger.down(1, sx, sy);
      await finger.move(1, sx, sy - 60);
      await finger.move(1, sx, sy - 260);
      await finger.up(1);
    });
    await makes(["start"], "two quick taps on Start", async () => {
      await tap(page, [sx, sy], "pointerup");
      await ctx.clock.fastForward(200);
      await tap(page, [sx, sy], "pointerup");
    });
    await atTop(page);
    const top = await key("top"), bottom = await key("bottom"), end = await key("end");
    await makes(["top"], "a second finger on another key", async () => {
      await finger.down(1, ...top);
      await finger.down(2, ...bottom);
      await finger.up(2);
      await finger.up(1);
    });
    await makes(["bottom"], "a key while a thumb rests on the page", async () => {
      await finger.down(1, 6, 300);
      await finger.down(2, ...bottom);
      await finger.up(2);
      await finger.up(1);
    });
    await makes([], "a scroll that begins beside the keys", async () => {
      await finger.down(1, 6, 500);
      for (let y = 460; y >= 300; y -= 40) await finger.move(1, 6, y);
      await finger.up(1);
    });
    await atTop(page);
    await makes(["end"], "End, and a tap in its place 70, 400 and 900 ms later", async () => {
      await tap(page, end, "pointerup");
      for (const ms of [70, 330, 500]) {
        await ctx.clock.fastForward(ms);
        await tap(page, end, "pointerup");
        const start = await key("start");
        if (start) await tap(page, start, "pointerup");
      }
    });
    await makes(["start"], "Start a second after it", async () => tap(page, await key("start"), "pointerup"));
  },

  async "a mouse and a keyboard make one press or none"(t) {
    const d = await open(t, { width: 1440 }, "MOUSE-1"), { page, ctx } = d;
    await ctx.setOffline(true);
    const wait = () => ctx.clock.fastForward(1500), of = (k) => page.locator(`[data-press=${k}]`);
    const makes = async (want, what, gesture) => {
      const before = (await made(page)).length;
      await gesture();
      t.equal((await made(page)).slice(before), want, `presses by ${what}`);
      await wait();
    };
    const box = await of("start").boundingBox();
    await makes([], "a mouse that leaves Start before it is let go", async () => {
      await page.mouse.move(box.x + 40, box.y + 40);
      await page.mouse.down();
      await page.mouse.move(box.x + 40, box.y - 80);
      await page.mouse.up();
    });
    await makes([], "the other button of the mouse", () => of("start").click({ button: "right" }));
    await makes(["start"], "a double click", () => of("start").dblclick());
    await makes(["top"], "the letter of a key that is held down", async () => {
      await page.keyboard.down("t");
      for (let i = 0; i < 8; i++) {
        await page.keyboard.down("t");
        await ctx.clock.fastForward(500);
      }
      await page.keyboard.up("t");
    });
    await makes(["bottom"], "Enter that is held down on a key", async () => {
      await of("bottom").focus();
      await page.keyboard.down("Enter");
      for (let i = 0; i < 8; i++) {
        await ctx.clock.fastForward(500);
        await page.keyboard.down("Enter");
      }
      await page.keyboard.up("Enter");
    });
    await makes(["end"], "the space bar", async () => {
      await of("end").focus();
      await page.keyboard.press("Space");
    });
    t.equal(await page.evaluate(() => document.activeElement.dataset.press), "start", "the key that has the focus after End");
    await makes(["start"], "Enter on it", () => page.keyboard.press("Enter"));
    t.ok(await page.evaluate(() => document.activeElement.matches("[data-press=top], [data-press=bottom]")), "the focus goes on to the key that is expected next");
  },

  async "typing the value of a mark leaves the keys of the watch alive"(t) {
    const d = await open(t, { width: 1440 }, "MARK-1"), { page } = d;
    const watch = async () => JSON.parse(await page.evaluate(() => JSON.stringify([...document.querySelectorAll("[data-presses] .press")].reverse().map((li) => li.querySelector("b").textContent))));
    await page.keyboard.press("s");
    await d.later(3000);
    await page.keyboard.press("m");
    await page.waitForFunction(() => document.activeElement?.name === "rod");
    await page.keyboard.type("1");
    await page.keyboard.press("Escape");
    await page.waitForSelector("[data-hold-mark]", { state: "hidden" });
    await until(async () => (await watch()).length === 2, "the mark is kept");
    t.equal((await watch())[1], "Mark", "a mark whose typing was left by Escape: its time only");
    await d.later(2000);
    await page.keyboard.press("m");
    await page.keyboard.type("14 mm");
    t.equal(await page.inputValue("[data-hold-mark] [name=rod]"), "14 mm", "letters of a unit are typed");
    await d.later(1000);
    await page.keyboard.press("Enter");
    await d.later(2000);
    await page.keyboard.press("m");
    await page.keyboard.type("15");
    await d.later(1000);
    await page.keyboard.press("e");
    await page.waitForSelector(".hold-keys:not(.running)");
    await until(async () => (await watch()).length === 5, "all presses are listed");
    t.equal((await watch()).slice(2), ["Mark: 14 mm", "Mark: 15 mm", "End"], "the end keeps what was typed");
  },

  async "cautions are read one by one by the keyboard, and Start comes next"(t) {
    const d = await t.tablet({ width: 1440 }), { page } = d;
    const job = await bookIn(t.shop, d.ctx, "READ-1");
    await d.go(`/jobs/${job}/found`);
    await page.waitForSelector("[data-press=start]:not([disabled])");
    const n = await page.locator(".caution button").count();
    t.ok(n > 1, `${n} cautions`);
    await page.locator(".caution button").first().focus();
    for (let left = n - 1; left >= 0; left--) {
      await page.keyboard.press("Enter");
      await until(async () => (await page.locator(".caution button").count()) === left, `${left} cautions are left`);
      t.ok(await page.evaluate((more) => document.activeElement.matches(more ? ".caution button" : "[data-press=start]"), left > 0), `the focus after a caution, ${left} left: ${await page.evaluate(() => document.activeElement.outerHTML.slice(0, 80))}`);
      await page.keyboard.press("Enter"); // a second one at once is a slip
      t.equal(await page.locator(".caution button").count(), left, "cautions left after a second press at once");
      t.equal((await made(page)).length, 0, "presses of the watch by it");
      await d.later(1000);
    }
    await until(async () => /4 cautions read|cautions read/.test(await get(t.shop, d.ctx, `/jobs/${job}/found`)), "the shop has them");
  },

  async "two quick taps sign one step"(t) {
    const d = await t.tablet({ width: 820 }), { page } = d;
    await d.ctx.addInitScript(taps);
    const job = await bookIn(t.shop, d.ctx, "TWICE-1");
    await post(t.shop, d.ctx, `/jobs/${job}/choose`, { key: "twice", "part:throat leather ring": "replace" });
    await d.go(`/jobs/${job}/work`);
    await press(page, "a[href*='/step?id=earth']");
    await page.waitForURL("**/step?id=*");
    while (await page.locator(".caution button").count()) {
      const n = await page.locator(".caution button").count();
      await press(page, ".caution button:visible");
      await page.waitForFunction((was) => document.querySelectorAll(".caution button").length < was, n);
    }
    await page.waitForFunction(() => !document.querySelector(".caution button"));
    await d.later(1000);
    const signed = async () => (await get(t.shop, d.ctx, `/jobs/${job}/work`)).match(/<li class="done"><a href="[^"]*step\?id/g)?.length ?? 0;
    t.equal(await signed(), 0, "steps that are signed before");
    const from = page.url();
    await page.locator(".next .primary").tap();
    await page.waitForURL((u) => u.href !== from);
    const second = page.url();
    await page.waitForLoadState();
    await page.locator(".next .primary").tap(); // where the key of the next step is now
    await d.shop.clock.quiet();
    t.equal(page.url(), second, "the page after a second tap in the same place");
    t.equal(await signed(), 1, "steps that two quick taps signed");
  },

  async "undoing what somebody else pressed asks first"(t) {
    const a = await open(t, { width: 820, who: MARA, name: "bench tablet A" }, "THEIRS-1");
    await press(a.page, "[data-press=start]");
    await press(a.page, "[data-press=top]");
    await press(a.page, "[data-press=end]");
    const b = await t.tablet({ width: 820, who: JONAS, name: "bench tablet B" });
    await b.go(`/jobs/${a.job}/found`);
    await b.page.waitForSelector("[data-undo]:not([disabled])");
    await press(b.page, "[data-undo]");
    const asked = await b.page.textContent("dialog.ask");
    t.ok(/Mara Kell/.test(asked) && /bench tablet A/.test(asked), `the question names person and device: ${asked}`);
    await b.page.keyboard.press("Escape");
    await b.page.waitForSelector("dialog.ask", { state: "detached" });
    t.equal(await made(b.page), [], "what was taken back by a question that was left");
    await b.later(1000);
    await press(b.page, "[data-undo]");
    await press(b.page, "dialog.ask [data-yes]");
    await until(async () => (await made(b.page)).join() === "undo", "it is taken back after the answer");
    await a.until(() => a.page.locator("[data-presses] .struck").count(), "the tablet of the first hears that its press was taken back");
    await a.later(1000);
    await press(a.page, "[data-undo]");
    t.equal(await a.page.locator("dialog.ask").count(), 0, "questions before one's own press is taken back");
  },
};
