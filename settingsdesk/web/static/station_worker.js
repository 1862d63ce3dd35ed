// Keeps the last page of the station readable where there is no network, and marks it as old.
const COPIES = "station-copies";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== location.origin) return;
  if (address.pathname.endsWith("/station/now")) event.respondWith(page(event.request));
  if (address.searchParams.has("v")) event.respondWith(file(event.request));
});

async function page(request) {
  try {
    const answer = await fetch(request);
    if (answer.type === "opaqueredirect") await caches.delete(COPIES); // closed, or put out
    if (answer.ok) await (await caches.open(COPIES)).put("now", answer.clone());
    return answer;
  } catch (error) {
    const copy = request.mode === "navigate" && await caches.match("now", { cacheName: COPIES });
    if (!copy) throw error;
    return marked(copy);
  }
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
