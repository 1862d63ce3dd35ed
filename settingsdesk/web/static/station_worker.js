// Keeps the last page of the station readable where there is no network, and marks it as old.
const COPIES = "station-copies";
const SIGNED = "Settingsdesk-Station"; // on every answer of the desk, on none of another's
const PATIENCE_MS = 8000; // then the copy is shown rather than nothing

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (address.origin !== location.origin) return;
  const shows = event.request.method === "GET" ? /\/station\/now$/ : /\/station\/(confirm|begin)$/;
  if (shows.test(address.pathname)) event.respondWith(page(event.request));
  if (address.searchParams.has("v")) event.respondWith(file(event.request));
});

async function page(request) {
  const answer = fresh(request);
  const copy = request.mode === "navigate" && await caches.match("now", { cacheName: COPIES });
  if (!copy) return answer;
  const late = new Promise((_, reject) => setTimeout(reject, PATIENCE_MS));
  return Promise.race([answer, late]).catch(() => marked(copy));
}

async function fresh(request) {
  const answer = await fetch(request);
  if (answer.ok && answer.headers.has(SIGNED)) await (await caches.open(COPIES)).put("now", answer.clone());
  return answer;
}

async function marked(copy) {
  const text = (await copy.text())
    .replace('class="copy" role="status" hidden', 'class="copy" role="status"')
    .replace('class="station bars"', 'class="station bars old"');
  return new Response(text, { headers: copy.headers });
}

async function file(request) {
  const copies = await caches.open(COPIES);
  const copy = await copies.match(request);
  if (copy) return copy;
  const answer = await fetch(request);
  if (answer.ok) await copies.put(request, answer.clone());
  return answer;
}
