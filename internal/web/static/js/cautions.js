// Cautions are read one by one in place: the key of the next has the place and the focus of the one that was read, and nothing else moves.

import { el, icon } from "./dom.js";
import { focusNext } from "./focus.js";
import { turned } from "./keys.js";
import * as outbox from "./outbox.js";
import { say } from "./words.js";

/** start makes the cautions of an element with data-cautions readable; data-then="reload" loads the page again after the last. */
export function start(root) {
  for (const form of root.querySelectorAll("form")) {
    form.addEventListener("submit", (ev) => {
      ev.preventDefault();
      read(root, form);
    });
  }
}

async function read(root, form) {
  const item = form.closest("li"), list = item.parentElement, place = item.nextElementSibling;
  turned();
  item.remove();
  follow(root);
  const entry = await outbox.add({ url: document.body.dataset.entriesUrl, kind: "minded", body: { caution: form.elements.caution.value } });
  outbox.listen(async function look() {
    const [e] = await outbox.list((x) => x.key === entry.key);
    if (e?.state === "sent" && root.hidden && root.dataset.then === "reload" && !(await waiting())) again(root);
    if (e?.state !== "refused" || item.isConnected) return;
    await outbox.forget(e);
    list.insertBefore(item, place?.isConnected ? place : null);
    item.querySelector(".error")?.remove();
    item.prepend(el("p", { class: "error", role: "alert" }, icon("stop"), outbox.why(e.problem)));
    root.hidden = false;
  });
}

const waiting = async () => (await outbox.list((e) => e.kind === "minded" && e.state === "kept" && e.job === document.body.dataset.job)).length > 0;

// again loads the page once, which has the key that waited for the cautions.
function again(root) {
  delete root.dataset.then;
  focusNext();
  location.reload();
}

// follow gives the focus to the key of the next caution, and after the last to the next key of the page.
function follow(root) {
  const next = root.querySelector("button");
  root.hidden = !next;
  (next ?? document.querySelector("[data-press].hot, .next .primary"))?.focus({ preventScroll: true });
}
