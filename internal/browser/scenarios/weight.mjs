// What the first load of each main page takes over the wire.

import { bookIn, entry, plain, post, until } from "../kit.mjs";

const MOST = 150e3; // bytes

export default {
  async "each main page below 150 kB at the first load"(t) {
    const shop = t.shop, job = await bookIn(shop, shop.host, "WEIGHT-1");
    await entry(shop, shop.host, job, "read", { hold: "as found", reading: { creep: "up", pressure: "160 bar", travel: "60 mm", time: "14.2 s" } });
    await post(shop, shop.host, `/jobs/${job}/judge`, { key: "weight-judge", hold: "as found" });
    await entry(shop, shop.host, job, "chose", { parts: { "throat leather ring": "replace" } });
    const d = await t.tablet({ width: 820 }), state = await d.ctx.storageState();
    const too = [];
    for (const p of ["/", "/jobs/new", `/jobs/${job}`, `/jobs/${job}/found`, `/jobs/${job}/work`, `/jobs/${job}/step`, `/jobs/${job}/hand`, "/search", "/catalogue"]) {
      const ctx = await t.browser.newContext({ storageState: state, serviceWorkers: "block" }); // nothing in a cache; the worker's own copies come after
      const page = await ctx.newPage(), cdp = await ctx.newCDPSession(page), open = new Set();
      let bytes = 0, n = 0;
      cdp.on("Network.requestWillBeSent", (e) => /\/events(\?|$)/.test(e.request.url) || open.add(e.requestId));
      for (const over of ["Finished", "Failed"]) cdp.on(`Network.loading${over}`, (e) => open.delete(e.requestId));
      cdp.on("Network.loadingFinished", (e) => { bytes += e.encodedDataLength; n++; });
      await cdp.send("Network.enable");
      const step = p.includes("/step") ? await firstStep(shop, job) : p;
      const r = await page.goto(shop.base + step);
      t.equal(r.status(), 200, `status of ${step}`);
      let quiet = 0; // looks in a row: a script that has come may ask for more
      await until(() => (quiet = open.size === 0 ? quiet + 1 : 0) >= 10, `${step} has loaded all that it asks for`);
      t.note(`${step.replace(/\d+/, "N")}: ${(bytes / 1000).toFixed(0)} kB in ${n}`);
      if (bytes >= MOST) too.push(`${step}: ${bytes} bytes`);
      await ctx.close();
    }
    if (too.length) throw new Error(too.join("\n"));
  },
};

async function firstStep(shop, job) {
  const html = await (await shop.host.request.get(`${shop.base}/jobs/${job}/work`)).text();
  return [...html.matchAll(/href="(\/jobs\/\d+\/step\?id=[^"]*stack[^"]*)"/g)].map((m) => plain(m[1]))[0];
}
