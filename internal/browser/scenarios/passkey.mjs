// A passkey is made on the page of a person and lets that person in.

import { ILSE, press } from "../kit.mjs";

export default {
  async "a passkey is made and used"(t) {
    const { shop } = t;
    shop.home = shop.base;
    shop.base = shop.base.replace("127.0.0.1", "localhost"); // passkeys belong to a name
    const d = await t.tablet({ shop, width: 1440, who: ILSE }), { page, ctx } = d;
    const cdp = await ctx.newCDPSession(page);
    await cdp.send("WebAuthn.enable");
    await cdp.send("WebAuthn.addVirtualAuthenticator", { options: { protocol: "ctap2", transport: "internal", hasResidentKey: true, hasUserVerification: true, isUserVerified: true, automaticPresenceSimulation: true } });
    await d.go("/me");
    await page.fill("#key-name", "bench screen");
    await press(page, "[data-passkey=new]");
    await page.waitForFunction(() => document.querySelector("form[action='/me/passkeys/drop']") !== null);
    t.ok((await page.textContent("main")).includes("bench screen"), "the passkey is listed by its name");
    await press(page, "form[action='/leave'] button:not([name])");
    await page.waitForURL("**/door**");
    await press(page, "[data-passkey=in]");
    await page.waitForURL(`${shop.base}/`);
    t.ok((await page.textContent(".person-chip")).includes("Ilse Varga"), "the person of the passkey is signed in");
    await d.go("/me");
    await press(page, "form[action='/me/passkeys/drop'] button");
    await page.waitForFunction(() => document.querySelector("form[action='/me/passkeys/drop']") === null);
  },
};
