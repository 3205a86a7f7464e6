// Words that scripts show. The language is that of the page (<html lang>); English stands in for what is missing. The table is made
// from the catalogues of texts (script.*) when the program starts.

import { table } from "./table.js";

/** say returns a text in the language of the page; {name} is replaced from args. */
export function say(key, args = {}) {
  const lang = document.documentElement.lang;
  const text = table[lang]?.[key] ?? table.en[key] ?? key;
  return text.replace(/\{(\w+)\}/g, (all, name) => args[name] ?? all);
}

/** clock writes seconds as on a watch: 0:07.4, 12:03.0, 1:02:03; whole seconds without tenths. */
export function clock(seconds, tenths = true) {
  const t = Math.max(0, seconds);
  const s = tenths ? Math.floor(t * 10) / 10 : Math.floor(t);
  const h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60, rest = s - 3600 * h - 60 * m;
  const sec = (rest < 10 ? "0" : "") + (tenths && h === 0 ? rest.toFixed(1) : Math.floor(rest + 1e-6));
  return h > 0 ? `${h}:${m < 10 ? "0" : ""}${m}:${sec}` : `${m}:${sec}`;
}
