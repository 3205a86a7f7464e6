// The strip under the top bar: is there a network, and what does this device still keep?

import { el } from "./dom.js";
import * as outbox from "./outbox.js";
import { say } from "./words.js";

const DOOR = "/door?to=";
let strip, hadKept = false, goodUntil = 0, sendingSince = 0, shown = "", lasting = true;

/** start fills the strip and keeps it true. */
export function start(element) {
  strip = element;
  strip.setAttribute("role", "status");
  outbox.listen(draw);
  addEventListener("online", draw);
  addEventListener("offline", draw);
  outbox.ready.then((d) => {
    lasting = d;
    draw();
  });
}

async function draw() {
  const mine = outbox.person(), entries = await outbox.list((e) => e.state === "kept" || e.state === "refused");
  const kept = entries.filter((e) => e.state === "kept" && e.person === mine).length;
  const others = entries.filter((e) => e.state === "kept" && e.person !== mine).length;
  const refused = entries.filter((e) => e.state === "refused" && e.person === mine);
  const [text, kind, key] = message(kept, others, refused);
  hadKept = kept > 0;
  const want = `${kind}|${text}`;
  if (want === shown) return;
  shown = want;
  strip.hidden = text === "";
  strip.className = `netstrip ${kind}`;
  strip.replaceChildren(...(text ? [el("span", {}, text)] : []), ...(key ? [key] : []));
}

function message(kept, others, refused) {
  const trouble = outbox.status();
  const tryNow = () => el("button", { type: "button", class: "key", onclick: outbox.flush }, say("tryNow"));
  if (refused.length) {
    const job = refused[0].job, here = job === (document.body.dataset.job ?? "") && document.querySelector("[data-presses], [data-undo-strip]");
    const link = here || !job ? null : el("a", { class: "key", href: `/jobs/${encodeURIComponent(job)}` }, say("show"));
    return [say("refusedStrip", { n: refused.length }), "bad", link];
  }
  if (kept && trouble === "signin") {
    return [say("signIn", { n: kept }), "", el("a", { class: "key", href: DOOR + encodeURIComponent(location.pathname + location.search) }, say("signInKey"))];
  }
  if (!navigator.onLine) return [kept ? say("keptOffline", { n: kept }) : say("offline"), "", null];
  if (kept && trouble) return [say("keptTrouble", { n: kept }), "", tryNow()];
  if (kept && !lasting) return [say("volatile"), "bad", tryNow()];
  if (kept) { // told only when it takes longer than a moment
    sendingSince ||= Date.now();
    if (Date.now() - sendingSince > 1200) return [say("sending", { n: kept }), "", null];
    setTimeout(draw, 1300);
    return ["", "", null];
  }
  if (sendingSince && Date.now() - sendingSince > 1200) {
    goodUntil = Date.now() + 2500;
    setTimeout(draw, 2600);
  }
  sendingSince = 0;
  if (Date.now() < goodUntil) return [say("allSent"), "good", null];
  if (others) return [say("otherPerson", { n: others }), "", null];
  return ["", "", null];
}
