// Forms that go through the outbox (data-outbox), and the list of what this device keeps for a job (data-undo-strip).

import { clear as clearDraft } from "./drafts.js";
import { buzz, el, icon, quantity } from "./dom.js";
import * as outbox from "./outbox.js";
import { say } from "./words.js";

/** startForm makes a form put its entry into the outbox instead of posting it. */
export function startForm(form) {
  form.addEventListener("submit", async (ev) => {
    ev.preventDefault();
    if (form.dataset.busy) return;
    form.dataset.busy = "1";
    unmark(form);
    try {
      const e = await outbox.add({
        url: form.dataset.entriesUrl ?? document.body.dataset.entriesUrl, kind: form.dataset.kind, body: body(form, ev.submitter), corrects: Number(form.dataset.corrects) || undefined,
      });
      buzz(30);
      await follow(form, e);
    } finally {
      delete form.dataset.busy;
    }
  });
}

// body makes the body of an entry from the fields: "a.b" nests, data-int and data-json fields are read, quantities get the unit of the
// page, boxes become true. Empty fields are left out, and what only the plain form needs (key, back).
function body(form, submitter) {
  const out = form.dataset.body ? JSON.parse(form.dataset.body) : {};
  const set = (name, value) => {
    const path = name.split(".");
    const last = path.pop();
    path.reduce((o, k) => (o[k] ??= {}), out)[last] = value;
  };
  for (const f of form.elements) {
    if (!f.name || f.disabled || f.name.endsWith(".unit") || (f.type === "hidden" && ["key", "back"].includes(f.name)) || ["submit", "button", "file"].includes(f.type)) continue;
    if (f.type === "checkbox") f.checked && set(f.name, f.value === "true" || f.value === "on" ? true : f.value);
    else if (f.type === "radio") f.checked && f.value !== "" && set(f.name, f.value);
    else if (f.value.trim() !== "") set(f.name, "int" in f.dataset ? Number(f.value) : "json" in f.dataset ? JSON.parse(f.value) : quantity(f));
  }
  if (submitter?.name) set(submitter.name, submitter.value);
  return out;
}

// follow shows what becomes of the entry while the page is open.
async function follow(form, entry) {
  const state = form.querySelector("[data-form-state]") ?? form.appendChild(el("p", { class: "form-state", role: "status", "data-form-state": true }));
  let told = false;
  await new Promise((done) => {
    const stop = outbox.listen(look);
    async function look() {
      const e = (await outbox.list((x) => x.key === entry.key))[0];
      if (!e || told) return;
      if (e.state === "kept") {
        if (outbox.status() || !navigator.onLine) {
          state.textContent = say("formKept");
          finish(false);
        }
        return;
      }
      if (e.state === "sent") {
        state.textContent = say("formSent");
        finish(true);
      }
      if (e.state === "refused") {
        told = true;
        stop();
        await outbox.forget(e);
        state.textContent = "";
        mark(form, e.problem);
        done();
      }
    }
    function finish(sent) {
      told = true;
      stop();
      clearDraft(form);
      form.reset();
      done();
      const then = form.dataset.then;
      if (sent && then) then === "reload" ? location.reload() : location.assign(then);
    }
    look();
  });
}

function unmark(form) {
  form.querySelector(".form-refused")?.remove();
  for (const f of form.querySelectorAll("[data-marked]")) {
    f.removeAttribute("aria-invalid");
    f.removeAttribute("data-marked");
  }
}

function mark(form, problem) {
  const field = problem?.where ? form.elements[problem.where] : null;
  const notice = el("div", { class: "notice error form-refused", role: "alert", tabindex: "-1" }, icon("stop"),
    el("div", {}, el("p", {}, el("b", {}, say("formRefused"))), el("p", {}, outbox.why(problem)), problem?.code ? el("p", { class: "code" }, problem.code) : null));
  form.prepend(notice);
  if (field instanceof HTMLElement) {
    field.setAttribute("aria-invalid", "true");
    field.dataset.marked = "1";
    field.focus();
  } else notice.focus();
}

/** startStrip lists what this device keeps or has just sent for the job of the page, each with its key to undo. */
export function startStrip(box) {
  const since = Date.now(), job = document.body.dataset.job;
  const draw = async () => {
    const entries = await outbox.list((e) => e.job === job && e.kind !== "struck" && e.kind !== "pressed");
    const struck = new Set((await outbox.list((e) => e.kind === "struck" && e.state !== "left")).map((e) => e.of));
    const rows = entries.filter((e) => e.state === "kept" || e.state === "refused" || (e.state === "sent" && e.sentAt >= since));
    box.replaceChildren(...(rows.length ? [el("ol", {}, ...rows.map((e) => row(e, struck.has(e.key))))] : []));
  };
  outbox.listen(draw);
  draw();
}

function row(e, struck) {
  const state = struck ? say(e.state === "sent" ? "undone" : "undoing") : e.state === "refused" ? `${say("refused")}: ${outbox.why(e.problem)}` : say(e.state);
  const keys = e.state === "refused"
    ? [el("button", { type: "button", class: "key", onclick: () => outbox.change({ ...e, state: "kept", problem: null }) }, say("sendAgain")),
      el("button", { type: "button", class: "key quiet", onclick: () => confirm(say("leaveOutAsk")) && outbox.forget(e) }, say("leaveOut"))]
    : struck ? [] : [el("button", { type: "button", class: "key", onclick: () => outbox.strike(e, "undone at the bench") }, icon("undo"), say("undo"))];
  const text = Object.values(e.body).filter((v) => typeof v === "string").join(", ").slice(0, 80);
  return el("li", { class: `press ${struck ? "struck" : e.state}` }, el("span", { class: "press-time" }, new Date(e.at).toTimeString().slice(0, 5)),
    el("span", { class: "press-what" }, el("b", {}, text || e.kind), el("span", { class: "press-state" }, state)), el("span", { class: "row" }, ...keys));
}
