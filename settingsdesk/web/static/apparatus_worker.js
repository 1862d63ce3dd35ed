// Shows the copy of a page at the apparatus where there is no network. The page keeps its own copy,
// files first (at_apparatus.js): so a copy is whole, or it is said that there is none.
const COPIES = `copies ${new URL(registration.scope).pathname}`;
const PATIENCE_MS = 8000; // then the copy is shown rather than nothing
// In the language of the reader, where the desk says it in one.
const TOLD = {
  lang: "en", dir: "ltr", title: "No copy of this page",
  none: "There is no network, and no copy of this page on this phone",
  rest: "Set nothing by what you remember: use what is printed. What you confirmed before and what is not through yet stays kept.",
  again: "Look again", english: "",
};
const NONE = `<!doctype html><html lang="${TOLD.lang}" dir="${TOLD.dir}"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>${TOLD.title}</title></head>
<body><h1>${TOLD.none}</h1>
<p>${TOLD.rest}</p><p lang="en" dir="ltr"><small>${TOLD.english}</small></p><p><a href="">${TOLD.again}</a></p>
<script>
setInterval(() => fetch(location, { method: "HEAD" }).then(() => location.reload(), () => {}), 2000);
</script></body></html>`;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(
  Promise.all([self.clients.claim(), caches.delete("station-copies")]))); // as they were called once
self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (address.origin !== location.origin) return;
  if (event.request.mode === "navigate") event.respondWith(page(event.request, address.pathname));
  else if (address.searchParams.has("v")) event.respondWith(file(event.request));
});

async function page(request, path) {
  const copy = request.method === "GET" && await caches.match(path, { cacheName: COPIES });
  if (!copy) return fetch(request).catch(none);
  const late = new Promise((_, reject) => setTimeout(reject, PATIENCE_MS));
  return Promise.race([fetch(request), late]).catch(() => copy);
}

async function file(request) {
  return await caches.match(request, { cacheName: COPIES }) ?? fetch(request);
}

function none() {
  return new Response(NONE, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
}
