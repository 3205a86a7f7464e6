// The pages of a shop, each with something on it.

import { bookIn, entry, get, plain, post } from "./kit.mjs";

/** kindsOf gives one step of each kind: stack, torque, soak, hold and so on, by the first word of their names. */
function kindsOf(steps) {
  const kinds = new Map();
  for (const s of steps) {
    const kind = new URLSearchParams(s.split("?")[1]).get("id").split(" ")[0];
    if (!kinds.has(kind)) kinds.set(kind, s);
  }
  return [...kinds.values()];
}

/** aRun makes a job that is isolated and relieved, and gives the page on which its next plain steps are signed together. */
async function aRun(shop, ctx) {
  const job = await bookIn(shop, ctx, "PAGE-4"), seen = [];
  await entry(shop, ctx, job, "chose", { parts: { "throat leather ring": "replace" } });
  for (let signed = 0; signed < 20; signed++) {
    const to = plain(/class="key primary big" href="([^"]*)"/.exec(await get(shop, ctx, `/jobs/${job}/work`))[1]);
    if (to.includes("/run?")) return to;
    seen.push(to);
    const step = new URLSearchParams(to.split("?")[1]).get("id");
    await entry(shop, ctx, job, "did", step.startsWith("soak") ? { step, soaked: "60 min" } : { step });
  }
  throw new Error(`no run of plain steps came: ${seen.join(", ")}`);
}

/**
 * everyPage makes a job with something on every page, one that is closed and one that is only booked, and gives the addresses of all pages.
 * Whoever adds a page adds it here: the scenario "layout" reads the routes of the shop and misses it.
 */
export async function everyPage(t, ctx) {
  const shop = t.shop;
  const job = await bookIn(shop, ctx, "PAGE-1"), closed = await bookIn(shop, ctx, "PAGE-2"), second = await bookIn(shop, ctx, "PAGE-1"), ready = await bookIn(shop, ctx, "PAGE-3");
  const add = (n, kind, body) => entry(shop, ctx, n, kind, body);
  await add(job, "noted", { text: "A note." });
  await add(job, "pressed", { hold: "as found", watch: "wa", press: "start", elapsed_ms: 0, stroke: "up", pressure: "160 bar" });
  const gone = await add(job, "pressed", { hold: "as found", watch: "wa", press: "mark", elapsed_ms: 4000, rod: "10 mm" });
  await add(job, "pressed", { hold: "as found", watch: "wa", press: "top", elapsed_ms: 15000 });
  await add(job, "pressed", { hold: "as found", watch: "wa", press: "end", elapsed_ms: 16000 });
  await add(job, "struck", { seq: gone, reason: "misread the rule" });
  await add(job, "read", { hold: "as found", reading: { still: "down", pressure: "160 bar", time: "60 s", seen: "0.5 mm" } });
  await post(shop, ctx, `/jobs/${job}/judge`, { key: "page-judge", hold: "as found" });
  await add(job, "found", { part: "inlet valve seat", text: "A groove." });
  await add(job, "chose", { parts: { "throat leather ring": "replace", "piston leather ring": "replace", "inlet valve seat": "turn over" } });
  await post(shop, ctx, `/jobs/${job}/prices`, { key: "page-price", text: "work", quantity: "1.5", each: "64" });
  const minded = /name="caution" value="([^"]*)"/.exec(await get(shop, ctx, `/jobs/${job}/found`))[1];
  await post(shop, ctx, `/jobs/${job}/mind`, { key: "page-mind", caution: plain(minded), back: `/jobs/${job}/found` });
  for (const n of [closed, ready]) {
    await add(n, "handed", { to: "Ove Lindgaard", signature: "M120 80L124 82L300 200", note: "" });
    const points = [...(await get(shop, ctx, `/jobs/${n}/hand`)).matchAll(/name="point" value="([^"]*)"/g)].map((m) => plain(m[1]));
    await post(shop, ctx, `/jobs/${n}/override`, { key: `page-over-${n}`, point: points, reason: "Seen by eye (invented)." });
  }
  await post(shop, ctx, `/jobs/${closed}/close`, { key: "page-close", good: "yes" });
  const work = await get(shop, ctx, `/jobs/${job}/work`);
  const steps = [...work.matchAll(/href="(\/jobs\/\d+\/step\?id=[^"]*)"/g)].map((m) => plain(m[1]));
  const idOf = (s) => new URLSearchParams(s.split("?")[1]).get("id");
  const step = (what) => steps.find((s) => idOf(s).startsWith(what));
  const soak = step("soak");
  const run = await aRun(shop, ctx);
  if (soak) await post(shop, ctx, `/jobs/${job}/soak`, { key: "page-soak", step: idOf(soak) });
  const verdict = /\/jobs\/\d+\/verdict\/\d+/.exec(await get(shop, ctx, `/jobs/${job}`))[0];
  const item = async (kind) => /href="(\/catalogue\/[a-z]+\/\d+)"/.exec(await get(shop, ctx, `/catalogue/${kind}`))?.[1];
  const kinds = [...(await get(shop, ctx, "/catalogue")).matchAll(/href="(\/catalogue\/[a-z]+(?:\/\d+)?)"/g)].map((m) => m[1]);
  const items = [];
  for (const k of kinds) {
    items.push(k);
    const one = /\/\d+$/.test(k) ? k : await item(k.split("/")[2]);
    if (!/\/\d+$/.test(k)) items.push(`${k}/new`);
    if (one) items.push(one, `${one}/history`);
  }
  const pump = /\/pumps\/\d+/.exec(await get(shop, ctx, `/jobs/${second}`))[0];
  const j = `/jobs/${job}`;
  return [
    "/", "/search", "/search?q=PAGE", "/search?q=nothing-like-this", "/jobs/new", "/jobs/new?serial=PAGE-1",
    j, `${j}/booked`, `${j}/found`, `${j}/prove`, `${j}/readings`, ...["still", "locked", "run", "drips", "sign"].map((k) => `${j}/readings?kind=${k}`), verdict, `${j}/findings`, `${j}/choose`, `${j}/work`,
    ...kindsOf(steps), `${step("torque")}&turn=line`, run, `${j}/hand`, `${j}/history`, `${j}/tag`, `${j}/report`, `${j}/customer`,
    `${j}/report?as=html`, `/jobs/${closed}`, `/jobs/${closed}/hand`, `/jobs/${closed}/found`, `/jobs/${closed}/customer`, `/jobs/${second}`, `/jobs/${ready}`, `/jobs/${ready}/hand`,
    "/jobs/2", "/jobs/2/found", "/jobs/3/found", "/jobs/3/work", `${j}/stack?name=throat`, `${j}/findings?part=rod`, pump, "/customers/1", "/me", "/door", "/door?person=1", "/let-in", "/offline", "/set-up", "/trust", "/devices/code", "/tokens", "/catalogue", ...new Set(items), `${j}/nothing-here`,
  ];
}
