// The clock of a shop under test: that of its server and those of the pages of all its tablets are one, and stand still until a scenario
// moves them. What a page or the server does after some time it does when, and only when, the scenario lets that time pass; how fast the
// machine is does not matter.

const BOUND = 60000; // real ms after which a wait for an answer is given up: only how soon a failure is told
const STEP = 1000; // ms by which the clock goes on at once, between two looks whether the pages wait for an answer

/** START is when every scenario begins: a Tuesday morning. */
export const START = Date.parse("2026-11-10T09:30:00Z");

const clocks = new WeakMap(); // context → the clock of its pages

/** clockOf gives the clock that moves the pages of a context; undefined for one that was not made by tablet(). */
export const clockOf = (ctx) => clocks.get(ctx);

/** pause waits for what takes real time (an answer, a swap), between two looks at it. */
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** until looks until f gives something true, at most `tries` times; nothing but real work may be in the way, as the clock stands still. */
export async function until(f, what, tries = 400) {
  for (let i = 0; i < tries; i++) {
    const v = await f();
    if (v) return v;
    await pause(50);
  }
  throw new Error(`looked ${tries} times for: ${what}`);
}

/** Clock is the clock of one shop. */
export class Clock {
  #tell; // moves the clock of the server
  #contexts = new Map(); // context → the requests that its pages wait for
  #flowing = new WeakSet(); // contexts whose clocks run on by themselves
  #last = Promise.resolve(); // one movement at a time

  constructor(tell) {
    this.#tell = tell;
    this.now = START;
  }

  /** date is the present time of the shop. */
  date() {
    return new Date(this.now);
  }

  /**
   * holds takes the clocks of all pages of a context in hand. flows lets them run on by themselves as well: for a tool in the page that
   * needs timers, in scenarios in which time plays no part.
   */
  async holds(ctx, { scripts = true, flows = false } = {}) {
    clocks.set(ctx, this);
    if (!scripts) return;
    await ctx.clock.install({ time: this.now });
    if (flows) this.#flowing.add(ctx);
    else await ctx.clock.pauseAt(this.now);
    await ctx.addInitScript(working);
    const open = new Map();
    this.#contexts.set(ctx, open);
    ctx.on("page", (p) => p.on("download", () => p.evaluate(() => globalThis.stays()).catch(() => {})));
    ctx.on("request", (r) => endless(r) || open.set(r, r.url()));
    for (const over of ["requestfinished", "requestfailed"]) ctx.on(over, (r) => open.delete(r));
    ctx.on("page", (p) => p.on("close", () => open.forEach((_, r) => belongs(r, p) && open.delete(r))));
    ctx.on("close", () => this.#contexts.delete(ctx));
  }

  /** later lets time pass: every timer of the pages runs when it is due, and after each second the pages get the answers they wait for. */
  later(ms, { quiet = true } = {}) {
    return this.#move(async () => {
      if (quiet) await this.quiet(); // a page that loads while the clock goes on can miss that it did
      for (let left = ms; left > 0; left -= STEP) {
        const by = Math.min(left, STEP);
        await this.#on(by, (ctx) => ctx.clock.runFor(by));
        if (quiet) await this.quiet();
      }
    });
  }

  /** jump lets a long time pass at once, as for tablets that lay asleep: a timer that is due runs once. */
  jump(ms) {
    return this.#move(async () => {
      await this.quiet();
      await this.#on(ms, (ctx) => ctx.clock.fastForward(ms));
      await this.quiet();
    });
  }

  /** until lets time pass, a quarter of a second at a time, until f gives something true: for what the pages do after some time. */
  async until(f, what, tries = 400) {
    for (let i = 0; i < tries; i++) {
      const v = await f();
      if (v) return v;
      await this.later(250);
      await pause(50);
    }
    throw new Error(`looked ${tries} times, letting ${tries / 4} s pass, for: ${what}`);
  }

  /** quiet waits until no page waits for an answer, and nothing else goes on in any. */
  async quiet() {
    const waits = () => [...this.#contexts.values()].flatMap((open) => [...open.values()]);
    const busy = async () => (await Promise.all([...this.#contexts.keys()].flatMap((ctx) => ctx.pages().map(works)))).some(Boolean);
    await until(async () => waits().length === 0 && !(await busy()) && waits().length === 0, "the pages have their answers", BOUND / 50).catch((err) => {
      throw new Error(`${err.message}: ${[...new Set(waits())].join(", ")}`);
    });
  }

  async #on(ms, move) {
    this.now = await this.#tell(ms);
    await Promise.all([...this.#contexts.keys()].map((ctx) => move(ctx).catch((err) => this.#contexts.has(ctx) && Promise.reject(err))));
    const pages = [...this.#contexts.keys()].filter((ctx) => !this.#flowing.has(ctx)).flatMap((ctx) => ctx.pages());
    await Promise.all(pages.map((p) => p.evaluate(onTime, this.now).catch(() => {}))); // a page that is gone needs no time
  }

  #move(f) {
    this.#last = this.#last.catch(() => {}).then(f);
    return this.#last;
  }
}

/**
 * working runs in each page before its own scripts: globalThis.works() tells whether something goes on in it that no request shows. That is
 * the way to the next page (the browser asks for it some time after the press or the script that leads there), and what the page keeps on
 * the device before it sends anything. It also dates the events of a page by the clock of the page.
 */
function working() {
  let leaves = false, open = 0;
  globalThis.navigation.addEventListener("navigate", (e) => {
    if (!e.hashChange && e.downloadRequest === null && !e.destination.sameDocument) queueMicrotask(() => (leaves ||= !e.defaultPrevented));
  });
  const over = (target, ...events) => {
    let done = false;
    open++;
    for (const e of events) target.addEventListener(e, () => done || (done = true, open--));
    return target;
  };
  const { open: database } = IDBFactory.prototype, { transaction } = IDBDatabase.prototype, locks = globalThis.LockManager?.prototype;
  IDBFactory.prototype.open = function (...args) {
    return over(database.apply(this, args), "success", "error");
  };
  IDBDatabase.prototype.transaction = function (...args) {
    return over(transaction.apply(this, args), "complete", "abort");
  };
  if (locks) { // on a page that came by https
    const { request } = locks;
    locks.request = function (...args) {
      open++;
      return request.apply(this, args).finally(() => open--);
    };
  }
  // The browser dates events by real time; a page on this clock must not see any.
  Object.defineProperty(Event.prototype, "timeStamp", { get: () => performance.now(), configurable: true });
  // What a press set going (a form on its way) is under way once the browser has nothing more pressing to do.
  const { scheduler } = globalThis;
  globalThis.works = () => scheduler.postTask(() => leaves || open > 0, { priority: "background" });
  globalThis.stays = () => (leaves = false); // what came was a file
}

/**
 * onTime puts the clock of a page right that came while the clocks were moved: such a page can miss a movement, or make it twice. A page that is
 * behind goes on to now, with its timers; one that is ahead gets the time of day.
 */
async function onTime(now) {
  const off = now - Date.now(), { controller } = globalThis.__pwClock;
  if (off > 0) await controller.runFor(off);
  if (off < 0) controller.setSystemTime(now);
}

/** works asks a page whether something goes on in it; one that gives no answer is just going. */
const works = (page) => page.evaluate(() => globalThis.works?.() ?? false).catch(() => !page.isClosed());

/** endless says of a request that it has no end that can be waited for: a stream of events, and what a script was led to and does not follow. */
const endless = (r) => /\/events(\?|$)/.test(r.url()) || (r.redirectedFrom() !== null && !r.isNavigationRequest());

function belongs(request, page) {
  try {
    return request.frame().page() === page;
  } catch {
    return true; // a request without a frame: of a worker, or of a page that is gone
  }
}
