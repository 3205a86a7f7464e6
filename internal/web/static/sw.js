// Service worker: the static files, and the pages of holds that were opened on this device, work without a network.
// Registered as /sw.js?v=VERSION: another version is another worker, which takes over and drops the files of the old one.

const version = new URL(self.location.href).searchParams.get("v") ?? "0";
const STATIC = `static-${version}`, PAGES = "pages", MOST_PAGES = 8;
const base = `/static/${version}/`;
const files = ["app.css", "picture.css", "icon.svg", "icons.svg", "font/narrow-bold.woff2", "vendor/htmx.min.js", "vendor/hx-sse.min.js",
  ...["app", "ask", "cautions", "count", "db", "dom", "drafts", "focus", "hash", "hold", "hotkeys", "kept", "keys", "mark", "outbox", "outcome", "passkey", "photo", "pin", "presses", "required", "shop", "sign", "strip", "table", "timers", "watch", "words"].map((n) => `js/${n}.js`)];

self.addEventListener("install", (ev) => {
  ev.waitUntil((async () => {
    const cache = await caches.open(STATIC);
    await cache.addAll(files.map((f) => base + f));
    const offline = await fetch("/offline", { cache: "no-store", credentials: "omit" });
    if (offline.ok) await cache.put("/offline", offline);
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (ev) => {
  ev.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("static-") && name !== STATIC) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

self.addEventListener("message", (ev) => {
  const m = ev.data ?? {};
  if (m.forget) ev.waitUntil(caches.delete(PAGES));
  if (m.keep) ev.waitUntil(keep(m.keep, m.person));
});

// keep takes the page of a hold that is open; pages of another person are dropped.
async function keep(url, person) {
  const cache = await caches.open(PAGES);
  const response = await fetch(url, { cache: "no-store" });
  if (!response.ok || response.redirected) return;
  const headers = new Headers({ "X-Person": String(person) });
  for (const h of ["Content-Type", "Content-Security-Policy", "X-Content-Type-Options", "Referrer-Policy"]) {
    if (response.headers.has(h)) headers.set(h, response.headers.get(h));
  }
  const kept = new Response(await response.blob(), { headers });
  await cache.delete(url);
  await cache.put(url, kept);
  const all = await cache.keys();
  for (const [i, request] of all.entries()) {
    const one = await cache.match(request);
    if (one?.headers.get("X-Person") !== String(person) || i < all.length - MOST_PAGES) await cache.delete(request);
  }
}

self.addEventListener("fetch", (ev) => {
  const request = ev.request, url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method === "POST" && url.pathname === "/leave") {
    ev.waitUntil(caches.delete(PAGES));
    return;
  }
  if (request.method !== "GET") return;
  if (url.pathname.startsWith("/static/")) ev.respondWith(fromStatic(request));
  else if (request.mode === "navigate") ev.respondWith(page(request));
});

async function fromStatic(request) {
  const kept = await caches.match(request, { cacheName: STATIC });
  if (kept) return kept;
  try {
    return await fetch(request);
  } catch (err) { // a kept page of an older version asks for its own files: those of this one stand in
    const name = new URL(request.url).pathname.split("/").slice(3).join("/");
    const present = await caches.match(base + name, { cacheName: STATIC });
    if (present) return present;
    throw err;
  }
}

async function page(request) {
  try {
    return await fetch(request);
  } catch (err) {
    const kept = await caches.match(request, { cacheName: PAGES, ignoreVary: true }) ?? await caches.match("/offline", { cacheName: STATIC });
    if (kept) return kept;
    throw err;
  }
}
