// Passkeys: sign in (data-passkey="in") and make a new one (data-passkey="new").
//
// The begin address answers {"publicKey": …} with base64url values; the finish address takes the credential as JSON (WebAuthn level 3).

import { say } from "./words.js";

/** start shows a passkey key where the browser has passkeys. */
export function start(button) {
  const why = missing();
  if (why) {
    if (button.dataset.passkey === "new") document.querySelector("[data-passkey-say]")?.replaceChildren(say(why));
    return;
  }
  button.hidden = false;
  const place = button.parentElement.querySelector("[data-passkey-say]") ?? document.querySelector("[data-passkey-say]");
  const tell = (text) => place && (place.textContent = text);
  button.addEventListener("click", async () => {
    button.disabled = true;
    tell(say("passkeyWait"));
    try {
      const fresh = button.dataset.passkey === "new";
      const named = button.dataset.nameFrom ? document.querySelector(button.dataset.nameFrom)?.value : undefined;
      const { publicKey } = await post(button.dataset.beginUrl, named ? { name: named } : {});
      const credential = fresh ? await navigator.credentials.create({ publicKey: creation(publicKey) }) : await navigator.credentials.get({ publicKey: request(publicKey) });
      const finish = new URL(button.dataset.finishUrl, location.href);
      if (named) finish.searchParams.set("name", named);
      const answer = await post(finish, json(credential));
      tell(fresh ? say("passkeyDone") : "");
      const then = answer?.then ?? button.dataset.then;
      if (then) then === "reload" ? location.reload() : location.assign(then);
    } catch (err) {
      tell(err.name === "NotAllowedError" || err.name === "AbortError" ? say("passkeyStop") : say("passkeyFail", { why: err.message }));
    } finally {
      button.disabled = false;
    }
  });
}

/** missing says what a passkey lacks here: a browser that has them, a page that is private, a name in the address (WebAuthn level 3, section 5.1.2: an
 * identifier is a domain, never an IP address). */
function missing() {
  if (!window.isSecureContext) return "passkeyHTTPS";
  if (!window.PublicKeyCredential || !navigator.credentials) return "passkeyNone";
  return /^[0-9.]+$|^\[/.test(location.hostname) ? "passkeyName" : "";
}

async function post(url, body) {
  const response = await fetch(url, { method: "POST", credentials: "same-origin", headers: { "Content-Type": "application/json", Accept: "application/json, application/problem+json" }, body: JSON.stringify(body) });
  const answer = await response.json().catch(() => null);
  if (!response.ok) throw new Error([answer?.found, answer?.want, answer?.mend].filter(Boolean).join("; ") || answer?.detail || answer?.title || String(response.status));
  return answer;
}

const bytes = (s) => Uint8Array.from(atob(s.replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));
const text = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer))).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
const ids = (list) => list?.map((c) => ({ ...c, id: bytes(c.id) }));

function creation(o) {
  if (PublicKeyCredential.parseCreationOptionsFromJSON) return PublicKeyCredential.parseCreationOptionsFromJSON(o);
  return { ...o, challenge: bytes(o.challenge), user: { ...o.user, id: bytes(o.user.id) }, excludeCredentials: ids(o.excludeCredentials) };
}

function request(o) {
  if (PublicKeyCredential.parseRequestOptionsFromJSON) return PublicKeyCredential.parseRequestOptionsFromJSON(o);
  return { ...o, challenge: bytes(o.challenge), allowCredentials: ids(o.allowCredentials) };
}

function json(c) {
  if (c.toJSON) {
    try {
      return c.toJSON();
    } catch { /* some key stores give objects that cannot; by hand then */ }
  }
  const r = c.response, response = { clientDataJSON: text(r.clientDataJSON) };
  if (r.attestationObject) Object.assign(response, { attestationObject: text(r.attestationObject), transports: r.getTransports?.() ?? [] });
  if (r.authenticatorData) Object.assign(response, { authenticatorData: text(r.authenticatorData), signature: text(r.signature), userHandle: r.userHandle ? text(r.userHandle) : undefined });
  return { id: c.id, rawId: text(c.rawId), type: c.type, authenticatorAttachment: c.authenticatorAttachment ?? undefined, clientExtensionResults: c.getClientExtensionResults(), response };
}
