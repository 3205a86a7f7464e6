// Small helpers for making elements without markup in strings.

/** el makes an element: el("p", {class: "quiet", "data-x": 1}, "text", child). Properties that are null or false are left out. */
export function el(name, props = {}, ...children) {
  const e = document.createElement(name);
  for (const [k, v] of Object.entries(props)) {
    if (v === null || v === undefined || v === false) continue;
    if (k.startsWith("on")) e.addEventListener(k.slice(2), v);
    else e.setAttribute(k, v === true ? "" : v);
  }
  e.append(...children.filter((c) => c !== null && c !== undefined && c !== ""));
  return e;
}

/** icon makes an icon of icons.svg. */
export function icon(name) {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("class", "icon");
  svg.setAttribute("aria-hidden", "true");
  const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
  use.setAttribute("href", new URL("../icons.svg", import.meta.url).pathname + "#" + name);
  svg.append(use);
  return svg;
}

/** buzz shakes the device where it can be shaken. */
export function buzz(pattern) {
  if (navigator.userActivation && !navigator.userActivation.hasBeenActive) return; // a page that nobody has touched may not shake
  navigator.vibrate?.(pattern);
}

/** uuid makes a random key; crypto.randomUUID is missing on pages without HTTPS. */
export function uuid() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const b = crypto.getRandomValues(new Uint8Array(16));
  b[6] = (b[6] & 0x0f) | 0x40;
  b[8] = (b[8] & 0x3f) | 0x80;
  const hex = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

/** quantity is what stands in an input, with the unit of the page unless it carries its own. */
export function quantity(input) {
  const v = input.value.trim();
  return v !== "" && input.dataset.unit && /[\d.,]$/.test(v) ? `${v} ${input.dataset.unit}` : v;
}
