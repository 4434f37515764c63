// Keeps the page and the program, so that the trainer starts without a network once
// it has been loaded. With a network what the server has always comes first: the
// trainer and its class server must be of the same edition.
"use strict";

const store = "slowneedle";
const files = ["./", "page.css", "page.js", "mirror.js", "wasm_exec.js", "slowneedle.wasm", "icon.png", "manifest.json"];
const addresses = new Set(files.map(f => new URL(f, self.registration.scope).href));

// With a question behind it the server sends the page itself, and not on to the class that is open.
const ask = address => fetch(address.endsWith("/") ? address + "?page" : address);

self.addEventListener("install", e => {
  self.skipWaiting();
  e.waitUntil(caches.open(store).then(kept => Promise.all([...addresses].map(async address => {
    const answer = await ask(address);
    if (!answer.ok) throw new Error(address + ": " + answer.status);
    await kept.put(address, answer);
  }))));
});

self.addEventListener("activate", e => e.waitUntil(self.clients.claim()));

self.addEventListener("fetch", e => {
  const bare = e.request.url.replace(/[?#].*/, "");
  if (e.request.method === "GET" && addresses.has(bare)) e.respondWith(answer(e.request, bare));
});

async function answer(request, bare) {
  const kept = await caches.open(store);
  try {
    const fresh = await fetch(request);
    if (fresh.ok && !fresh.redirected) await kept.put(bare, fresh.clone());
    return fresh;
  } catch (err) { // there is no network
    const old = await kept.match(bare);
    if (!old) throw err;
    return old;
  }
}
