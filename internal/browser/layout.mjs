// What a page must not do to the eye and the finger, measured in the page as it is drawn.

/** layout lists the faults of the page that is open, each as a sentence. It runs in the page. */
export function layout({ least }) {
  const out = [];
  const say = (e, text) => out.push(`${name(e)}: ${text}`);
  const heard = new Map(); // what is there for the ear only: clipped to nothing, or nothing itself
  const unseen = (e) => {
    if (!e || e === document.body) return false;
    if (!heard.has(e)) heard.set(e, e.matches(".sr, .skip, .print-only, [aria-hidden=true]:not(svg, svg *)") || style(e).clipPath === "inset(50%)" || unseen(e.parentElement));
    return heard.get(e);
  };
  const seen = (e) => e.checkVisibility({ visibilityProperty: true }) && !unseen(e);
  const name = (e) => {
    const up = e.closest("[class]"), text = (e.getAttribute?.("aria-label") ?? e.textContent ?? "").replace(/\s+/g, " ").trim().slice(0, 44);
    return `${e.tagName.toLowerCase()}${up ? `.${String(up.getAttribute("class")).split(" ")[0]}` : ""} "${text}"`;
  };
  const style = (e) => getComputedStyle(e);
  const rows = (rects) => { // on how many rows boxes stand
    const at = [];
    for (const r of rects) if (r.width > 0 && !at.some((y) => Math.abs(y - r.bottom) < r.height / 2)) at.push(r.bottom);
    return at.length;
  };
  const texts = (root) => {
    const found = [], walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) if (walk.currentNode.textContent.trim() && seen(walk.currentNode.parentElement) && !walk.currentNode.parentElement.closest("script, style, option, title, desc")) found.push(walk.currentNode);
    return found;
  };

  // What is drawn too small: HTML and drawings alike, as they come out on the screen.
  const small = new Map();
  for (const t of texts(document.body)) {
    const e = t.parentElement;
    if (e.closest(".demo-sign, sub, sup, .sub")) continue;
    let px = parseFloat(style(e).fontSize);
    if (e.ownerSVGElement) px *= Math.hypot(e.getScreenCTM().b, e.getScreenCTM().a);
    if (px < least.text - 0.05) small.set(e, px);
  }
  for (const [e, px] of small) say(e, `type of ${px.toFixed(1)} px`);

  // Words broken in two, and columns too narrow to read.
  const range = document.createRange();
  for (const t of texts(document.body)) {
    if (t.parentElement.closest("code")) continue;
    for (const m of t.textContent.matchAll(/[\p{L}\p{N}]{2,}/gu)) {
      range.setStart(t, m.index);
      range.setEnd(t, m.index + m[0].length);
      if (rows(range.getClientRects()) > 1) {
        say(t.parentElement, `the word ${m[0]} is broken`);
        break;
      }
    }
  }
  const blocks = new Map(); // block → the boxes of its own words
  for (const t of texts(document.body)) {
    let e = t.parentElement;
    if (e.closest("svg")) continue;
    while (style(e).display === "inline") e = e.parentElement;
    range.selectNodeContents(t);
    blocks.set(e, { text: `${blocks.get(e)?.text ?? ""}${t.textContent.replace(/\s+/g, " ")}`, rects: [...(blocks.get(e)?.rects ?? []), ...[...range.getClientRects()].filter((r) => r.width > 1)] });
  }
  for (const [e, { text, rects }] of blocks) {
    const n = rows(rects);
    if (n < 2) continue;
    const s = style(e), room = e.getBoundingClientRect().width - parseFloat(s.paddingLeft) - parseFloat(s.paddingRight), letter = rects.reduce((sum, r) => sum + r.width, 0) / text.trim().length;
    if (room / letter < least.column) say(e, `a column of ${Math.floor(room / letter)} characters on ${n} lines`);
  }

  // Cut sentences.
  const pen = document.createElement("canvas").getContext("2d");
  for (const e of document.querySelectorAll("body *")) {
    if (!seen(e) || e.closest("svg") || e.matches("textarea, select, canvas, progress, script, style")) continue;
    const s = style(e);
    if (e.matches("input")) {
      pen.font = s.font;
      const room = e.clientWidth - parseFloat(s.paddingLeft) - parseFloat(s.paddingRight), hint = pen.measureText(e.placeholder).width;
      if (hint > room + 1) say(e, `${Math.round(room)} px for ${Math.round(hint)} px of "${e.placeholder}"`);
      if ((e.inputMode || !e.value) && !["checkbox", "radio", "file", "hidden"].includes(e.type) && e.scrollWidth > e.clientWidth + 1) say(e, `the field shows ${e.clientWidth} px of ${e.scrollWidth}: ${e.value || e.placeholder}`);
      continue;
    }
    if (s.overflowX !== "visible" && e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 1) say(e, `${e.scrollWidth} px in a box of ${e.clientWidth}: cut, or scrolled sideways`);
    if (["hidden", "clip"].includes(s.overflowY) && e.scrollHeight > e.clientHeight + 1 && e.clientHeight > 1) say(e, `${e.scrollHeight} px high in a box of ${e.clientHeight}: cut`);
  }
  for (const t of texts(document.body)) if (/(\S\S…|\.\.\.)\s*$/.test(t.textContent) && t.textContent.trim().length > 12) say(t.parentElement, "a sentence cut by dots");
  for (const svg of document.querySelectorAll("svg")) {
    if (!seen(svg)) continue;
    const box = svg.getBoundingClientRect();
    for (const e of svg.querySelectorAll("text")) {
      const r = e.getBoundingClientRect();
      if (seen(e) && r.width && (r.left < box.left - 1 || r.right > box.right + 1 || r.top < box.top - 1 || r.bottom > box.bottom + 1)) say(e, "stands out of its drawing");
    }
  }

  // Keys: large enough, inside their boxes, none on another, none that a fixed bar hides when it is reached.
  const keys = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")].filter((e) => seen(e) && !e.closest("svg") && e.getClientRects().length).map((e) => {
    const label = e.matches("[type=radio], [type=checkbox], [type=file]") && e.closest("label, .take-photo");
    return { e, box: label || e };
  });
  const bars = [...document.querySelectorAll("body *")].filter((e) => ["fixed", "sticky"].includes(style(e).position) && seen(e) && e.offsetHeight > 0);
  const inText = (e) => { // a link in a running sentence is as high as its line (WCAG 2.2, 2.5.8)
    if (!e.matches("a") || style(e).display !== "inline") return false;
    const own = [...e.parentElement.childNodes].filter((n) => n !== e && n.nodeType === 3).map((n) => n.textContent).join(" ");
    return (own.match(/\p{L}{2,}/gu) ?? []).length >= 3;
  };
  for (const { e, box } of keys) {
    const r = box.getBoundingClientRect();
    if (!inText(e) && (r.height < least.target - 0.5 || r.width < least.target - 0.5)) say(e, `a target of ${Math.round(r.width)} × ${Math.round(r.height)} px`);
    if (box.scrollWidth > box.clientWidth + 4 && box.clientWidth > 0 && style(box).display !== "inline" && !box.matches("input, select, textarea")) say(e, `its words are ${box.scrollWidth} px wide in ${box.clientWidth}`);
    for (let p = box.parentElement; p && p !== document.body; p = p.parentElement) {
      const s = style(p), q = p.getBoundingClientRect();
      if (["inline", "contents"].includes(s.display)) continue;
      if (r.left < q.left - 1 || r.right > q.right + 1 || (s.position !== "static" ? false : r.bottom > q.bottom + 8)) {
        say(e, `reaches out of ${name(p)}`);
        break;
      }
      if (["absolute", "fixed", "sticky"].includes(s.position) || p.matches(".next")) break;
    }
  }
  const rects = keys.filter(({ e }) => !bars.some((b) => b.contains(e))).map(({ e, box }) => ({ e, box, r: box.getBoundingClientRect() }));
  for (const [i, a] of rects.entries()) {
    for (const b of rects.slice(i + 1)) {
      if (a.box.contains(b.box) || b.box.contains(a.box)) continue;
      const w = Math.min(a.r.right, b.r.right) - Math.max(a.r.left, b.r.left), h = Math.min(a.r.bottom, b.r.bottom) - Math.max(a.r.top, b.r.top);
      if (w > 1 && h > 1) say(a.e, `lies on ${name(b.e)}`);
    }
  }
  const at = scrollY;
  for (const { e, box } of keys) {
    if (bars.some((b) => b.contains(e))) continue;
    box.scrollIntoView({ block: "nearest", behavior: "instant" });
    const r = box.getBoundingClientRect(), hit = document.elementFromPoint(r.left + r.width / 2, r.height > innerHeight / 2 ? r.top + 10 : Math.min(r.bottom - 3, innerHeight - 1)), bar = hit && bars.find((b) => b.contains(hit));
    if (bar) say(e, `lies under ${name(bar)}`);
  }
  scrollTo(0, at);

  // Text on text.
  const boxes = [];
  for (const [e, { rects }] of blocks) {
    if (bars.some((b) => b.contains(e))) continue;
    for (const r of rects) if (r.height > 2) boxes.push({ e, r: { left: r.left, right: r.right, top: r.top + r.height / 4, bottom: r.bottom - r.height / 4 } }); // without the air of its line
  }
  for (const [i, a] of boxes.entries()) {
    for (const b of boxes.slice(i + 1)) {
      if (a.e.contains(b.e) || b.e.contains(a.e)) continue;
      const w = Math.min(a.r.right, b.r.right) - Math.max(a.r.left, b.r.left), h = Math.min(a.r.bottom, b.r.bottom) - Math.max(a.r.top, b.r.top);
      if (w > 2 && h > 1) say(a.e, `its words lie on ${name(b.e)}`);
    }
  }

  const wide = document.documentElement.scrollWidth - innerWidth;
  if (wide > 0) out.push(`the page is ${wide} px wider than the screen`);
  const next = [...document.querySelectorAll(".next .primary")].filter(seen).length, primary = [...document.querySelectorAll(".key.primary")].filter(seen).length;
  return { out: [...new Set(out)], next, primary };
}
