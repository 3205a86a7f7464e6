// Unsent input outlives a reload, a switch of units, language or look, and a page that was closed by mistake.
//
// A draft belongs to an address and a form (its id, or its place) and to the person. A number keeps the unit under which it was
// typed: comes the page back in other units, the field says "2330 psi". Fields for passwords, PINs and files are never kept.

import { el } from "./dom.js";
import { say } from "./words.js";

const PREFIX = "draft ", SENT = "drafts sent", OLDEST = 7 * 86400e3;

const storageOf = () => {
  try {
    localStorage.setItem(PREFIX, "1");
    localStorage.removeItem(PREFIX);
    return localStorage;
  } catch {
    return null;
  }
};
const storage = storageOf();

// address is that of the page without what only brings a notice.
function address() {
  const q = new URLSearchParams(location.search);
  q.delete("done");
  return location.pathname + (q.toString() ? `?${q}` : "");
}

const name = (form) => `${PREFIX}${document.body.dataset.person ?? ""} ${address()} ${form.id || [...document.forms].indexOf(form)}`;
let refused = []; // drafts of the form that this page refused: a refused form has the address it was posted to

const kept = (form) => [...form.elements].filter((f) => f.name && !["password", "hidden", "file", "submit", "button"].includes(f.type) && f.autocomplete !== "off-draft" && !("noDraft" in f.dataset));

/** start restores the draft of a form and keeps it from now on. */
export function start(form) {
  if (!storage) return;
  const fresh = form.querySelector("[aria-invalid='true']") === null; // a refused form already holds what was typed
  if (fresh) restore(form);
  form.addEventListener("input", () => keep(form));
  form.addEventListener("change", () => keep(form));
  form.addEventListener("submit", () => { // the page that comes next is either this one with errors, or another: then it was sent
    sessionStorage.setItem(SENT, JSON.stringify([name(form), ...refused]));
  });
}

/** settle clears the draft of the form that was posted before this page, unless this page shows its errors. */
export function settle() {
  if (!storage) return;
  const sent = JSON.parse(sessionStorage.getItem(SENT) ?? "[]");
  sessionStorage.removeItem(SENT);
  const came = performance.getEntriesByType("navigation")[0]?.type ?? "navigate"; // back or reload: the form was not taken
  if (came !== "navigate" || document.querySelector("#errors, .notice.error, [data-offline-page]")) refused = sent;
  else for (const k of sent) storage.removeItem(k);
  for (const k of Object.keys(storage)) {
    if (k.startsWith(PREFIX) && Date.now() - (JSON.parse(storage.getItem(k))?.t ?? 0) > OLDEST) storage.removeItem(k);
  }
}

function keep(form) {
  const values = {};
  let any = false;
  for (const f of kept(form)) {
    if (f.type === "checkbox" || f.type === "radio") {
      if (f.checked !== f.defaultChecked) any = true;
      if (f.type === "checkbox") values[`${f.name}=${f.value}`] = [f.checked];
      else if (f.checked) values[f.name] = [f.value];
    } else {
      const initial = f.tagName === "SELECT" ? ([...f.options].find((o) => o.defaultSelected) ?? f.options[0])?.value : f.defaultValue;
      if (f.value !== initial) {
        any = true;
        values[f.name] = [f.value, f.dataset.unit ?? ""];
      }
    }
  }
  if (any) storage.setItem(name(form), JSON.stringify({ t: Date.now(), values }));
  else storage.removeItem(name(form));
}

function restore(form) {
  const draft = JSON.parse(storage.getItem(name(form)) ?? "null");
  if (!draft) return;
  let any = false;
  for (const f of kept(form)) {
    const v = f.type === "checkbox" ? draft.values[`${f.name}=${f.value}`] : draft.values[f.name];
    if (!v) continue;
    if (f.type === "checkbox") {
      any ||= f.checked !== v[0];
      f.checked = v[0];
    } else if (f.type === "radio") {
      any ||= f.value === v[0] && !f.checked;
      f.checked = f.value === v[0];
    } else {
      const unit = f.dataset.unit, moved = unit && v[1] && unit !== v[1] && /[\d.,]$/.test(v[0].trim());
      f.value = moved ? `${v[0].trim()} ${v[1]}` : v[0];
      any = true;
    }
    f.dispatchEvent(new Event("change", { bubbles: true }));
  }
  if (any) form.prepend(el("p", { class: "quiet draft-note", role: "status" }, say("restored")));
}
