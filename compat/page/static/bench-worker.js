// Keeps the steps of a build at hand while the server cannot be reached. The server is asked first, always: what
// it says counts, and what it said last is shown only where it does not answer.
"use strict";
const SHELF = "compat-bench-1", MOST = 700, PATIENCE = 4000;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith("compat-bench-") && name !== SHELF) await caches.delete(name);
  await self.clients.claim();
})()));

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) return;
  const ours = url.pathname.startsWith("/static/") || (url.pathname.startsWith("/bench/") && !url.pathname.endsWith("/stands"));
  if (ours) event.respondWith(served(event, url.pathname));
});

async function served(event, path) {
  const shelf = await caches.open(SHELF);
  const fresh = (async () => {
    const answer = await fetch(event.request);
    if (answer.ok && !answer.redirected) { await shelf.put(path, answer.clone()); event.waitUntil(trim(shelf)); }
    const out = answer.redirected || answer.type === "opaqueredirect" || answer.status === 401 || answer.status === 403;
    if (out) await caches.delete(SHELF);  // whoever signed out leaves nothing here
    return answer;
  })();
  const late = new Promise((done) => setTimeout(done, PATIENCE));
  const first = await Promise.race([fresh.catch(() => null), late.then(() => null)]);
  if (first) return first;
  const held = await (await caches.open(SHELF)).match(path);
  if (held) { event.waitUntil(fresh.catch(() => {})); return held; }
  return fresh.catch(() => new Response(
    "<!doctype html><html lang=en><meta charset=utf-8><meta name=viewport content='width=device-width'><title>No connection</title>" +
    "<h1>No connection</h1><p>This step is not on this tablet yet. What was typed is kept here, and goes to the server when it answers.</p>" +
    "<p><a href=''>Try again</a></p>",
    { status: 503, headers: { "content-type": "text/html; charset=utf-8" } }));
}

async function trim(shelf) {
  const keys = await shelf.keys();
  for (const key of keys.slice(0, Math.max(0, keys.length - MOST))) await shelf.delete(key);
}
