// Photos: taken with the camera, made smaller where the browser can, sent at once with progress; a failed one stays and is sent again.

import { el } from "./dom.js";
import { say } from "./words.js";

const LONGEST = 2048, QUALITY = 0.85, SMALL = 1.5e6; // px, JPEG quality, bytes below which a photo is sent as it is

/** start makes a photo form send by itself. */
export function start(form) {
  const input = form.querySelector("input[type=file]"), state = form.querySelector("[data-photo-state]"), plain = form.querySelector("[data-plain-send]");
  if (plain) plain.hidden = true;
  const most = Number(form.dataset.maxBytes) || Infinity;
  const tell = (...parts) => state.replaceChildren(...parts);
  let busy = false;

  const go = async () => {
    const file = input.files[0];
    if (!file || busy) return;
    if (file.type && !file.type.startsWith("image/")) return tell(say("noPicture", { found: file.type }));
    if (file.size > most) { // told before anything is read or sent
      input.value = "";
      return tell(say("tooLarge", { size: size(file.size), max: size(most) }));
    }
    busy = true;
    try {
      tell(say("shrinking"));
      const small = await shrink(file);
      if (small.size > most) return tell(say("tooLarge", { size: size(small.size), max: size(most) }));
      await send(form, input, small, file.name, tell);
      input.value = "";
      tell(say("uploaded"));
      const then = form.dataset.then;
      if (then) then === "reload" ? location.reload() : location.assign(then);
    } catch (err) {
      const why = err.refused ? say("uploadRefused", { why: err.message }) : say("uploadFailed");
      tell(why, el("button", { type: "button", class: "key", onclick: go }, say("again")));
    } finally {
      busy = false;
    }
    return undefined;
  };
  input.addEventListener("change", go);
  form.addEventListener("submit", (ev) => {
    ev.preventDefault();
    go();
  });
  addEventListener("online", () => input.files.length && go());
}

/** size writes a number of bytes. */
export const size = (n) => (n >= 1e6 ? `${Math.round(n / 1e5) / 10} MB` : `${Math.max(1, Math.round(n / 1e3))} kB`);

// shrink makes the longest side LONGEST at most; what the browser cannot read goes as it is, for the server to judge.
async function shrink(file) {
  if (!("createImageBitmap" in window)) return file;
  let bitmap;
  try {
    bitmap = await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch {
    return file;
  }
  const k = Math.min(1, LONGEST / Math.max(bitmap.width, bitmap.height));
  if (k === 1 && file.size <= SMALL && file.type === "image/jpeg") {
    bitmap.close();
    return file;
  }
  const canvas = el("canvas", { width: Math.round(bitmap.width * k), height: Math.round(bitmap.height * k) });
  const pen = canvas.getContext("2d");
  pen.fillStyle = "#fff"; // under what is transparent
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.imageSmoothingQuality = "high";
  pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  bitmap.close();
  const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
  return blob && blob.size < file.size ? blob : file;
}

// send posts the form with the photo in place of the file; fetch tells no progress of sending, so this is XMLHttpRequest.
function send(form, input, blob, name, tell) {
  const data = new FormData(form);
  data.set(input.name, blob, blob.type === "image/jpeg" ? name.replace(/\.\w+$/, "") + ".jpg" : name);
  const bar = el("progress", { max: 100, value: 0, "aria-label": say("uploading", { p: "" }) }), text = el("span", {}, say("uploading", { p: 0 }));
  tell(text, bar);
  return new Promise((done, fail) => {
    const x = new XMLHttpRequest();
    x.open("POST", form.action);
    x.setRequestHeader("Accept", "application/json, application/problem+json, text/html");
    x.timeout = 10 * 60e3;
    x.upload.onprogress = (ev) => {
      if (!ev.lengthComputable) return;
      bar.value = Math.floor((100 * ev.loaded) / ev.total);
      text.textContent = say("uploading", { p: bar.value });
    };
    x.onload = () => {
      if (x.status >= 200 && x.status < 300) return done();
      if (x.status >= 500 || x.status === 429) return fail(new Error(`${x.status}`));
      return fail(Object.assign(new Error(reason(x)), { refused: true }));
    };
    x.onerror = x.ontimeout = x.onabort = () => fail(new Error("network"));
    x.send(data);
  });
}

function reason(x) {
  try {
    const p = JSON.parse(x.responseText);
    return [p.found, p.want, p.mend].filter(Boolean).join("; ") || p.detail || p.title;
  } catch {
    return String(x.status);
  }
}
