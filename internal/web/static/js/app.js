// What every page does: the strip, menus, drafts, failures of live parts; and the modules that a page asks for by its attributes.

import { el, icon } from "./dom.js";
import { settle, start as startDraft } from "./drafts.js";
import { takeFocus } from "./focus.js";
import { guard } from "./keys.js";
import { required } from "./required.js";
import { start as startStrip } from "./strip.js";
import { say } from "./words.js";

const modules = {
  "[data-hold]": () => import("./hold.js"),
  "[data-cautions]": () => import("./cautions.js"),
  "[data-count]": () => import("./count.js"),
  "[data-undo-strip]": () => import("./kept.js"),
  "[data-ready]": () => import("./timers.js"),
  "form[data-photo]": () => import("./photo.js"),
  "[data-sign]": () => import("./sign.js"),
  "form[data-pin]": () => import("./pin.js"),
  "[data-passkey]": () => import("./passkey.js"),
  "form[data-code-from-hash]": () => import("./hash.js"),
};
const started = new WeakMap(); // element → selectors already started

function begin(root) {
  for (const [selector, load] of Object.entries(modules)) {
    const found = [...root.querySelectorAll(selector)];
    if (root instanceof Element && root.matches(selector)) found.unshift(root);
    const fresh = found.filter((e) => !started.get(e)?.has(selector));
    if (!fresh.length) continue;
    for (const e of fresh) started.set(e, (started.get(e) ?? new Set()).add(selector));
    load().then((m) => fresh.forEach((e) => m.start(e)), (err) => console.error(selector, err));
  }
  for (const form of root.querySelectorAll("form[data-draft]")) {
    if (!started.get(form)?.has("draft")) {
      started.set(form, (started.get(form) ?? new Set()).add("draft"));
      startDraft(form);
    }
  }
}

function menus() {
  const open = () => document.querySelectorAll("details.menu[open]");
  document.addEventListener("pointerdown", (ev) => open().forEach((d) => d.contains(ev.target) || d.removeAttribute("open")));
  document.addEventListener("keydown", (ev) => {
    if (ev.key !== "Escape") return;
    for (const d of open()) {
      d.removeAttribute("open");
      d.querySelector("summary").focus();
    }
  });
}

// picks asks the server anew what a form shows for what was picked in it, as its key does on a page without scripts.
function picks() {
  document.addEventListener("change", (ev) => {
    const form = ev.target instanceof Element && ev.target.closest("[data-shows]") ? ev.target.form : null;
    if (!form) return;
    const show = el("button", { name: "do", value: "show", formnovalidate: "", hidden: "" });
    form.append(show);
    form.requestSubmit(show);
    show.remove();
  });
}

// notice shows a passing failure of a live part; the part itself keeps what it showed.
function notice(text) {
  const old = document.querySelector(".live-notice");
  const fresh = el("div", { class: "notice warn live-notice", role: "alert" }, icon("warn"), el("div", {}, el("p", {}, text)));
  if (old) old.replaceWith(fresh);
  else document.getElementById("main")?.prepend(fresh);
}

function liveParts() {
  document.addEventListener("htmx:after:swap", (ev) => {
    if ((ev.detail?.ctx?.response?.status ?? 200) < 400) document.querySelector(".live-notice")?.remove(); // it also comes when nothing was swapped
    begin(ev.detail?.ctx?.target instanceof Element ? ev.detail.ctx.target : document);
  });
  document.addEventListener("htmx:after:request", (ev) => {
    const status = ev.detail?.ctx?.response?.status;
    if (status === 401) { // nobody is signed in any more: the page itself leads to the door
      ev.preventDefault();
      location.reload();
    }
    if (status >= 500) notice(say("server", { status }));
  });
  document.addEventListener("htmx:error", () => navigator.onLine && notice(say("lost")));
}

function worker() {
  const version = document.body.dataset.version;
  if (!("serviceWorker" in navigator) || !version) return;
  navigator.serviceWorker.register(`/sw.js?v=${encodeURIComponent(version)}`, { updateViaCache: "none" }).catch((err) => console.warn("service worker:", err.message));
  navigator.serviceWorker.ready.then((r) => {
    const tell = (m) => r.active?.postMessage(m);
    if (!document.body.dataset.person) tell({ forget: true });
    else if (document.querySelector("[data-hold]")) tell({ keep: location.href, person: document.body.dataset.person });
  });
}

guard();
required();
const strip = document.querySelector("[data-netstrip]");
if (strip) startStrip(strip);
settle();
menus();
picks();
liveParts();
begin(document);
takeFocus();
document.getElementById("errors")?.focus();
worker();
