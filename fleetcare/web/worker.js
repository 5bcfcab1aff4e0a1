// Keeps the yard's pages on the phone, so that they open where there is no signal. It asks the
// server first, always: a page kept here is shown only where no answer comes. It sends nothing.
// @ts-check
/// <reference lib="webworker" />

const KEPT = "pages";
const OURS = /^\/(walk\/|hire\/|yard$|style\.css$|walk\.js$)/;
const DOOR = /^\/(enter|link|leave|people\/tablet)\b/; // no page kept for who goes is shown to who comes
const AT = "X-Kept-At"; // when it was kept, by this phone's clock
const PATIENCE = 5000; // milliseconds: a bar of signal that carries nothing is none

const NOTHING_KEPT = `<!DOCTYPE html><html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>No signal</title>
<link rel="stylesheet" href="/style.css"></head><body><main><h1>No signal</h1>
<p>This page was not opened on this phone before. Unknown: do not hire.</p>
<p><a class="next" href="/yard">The yard</a></p></main></body></html>`;

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));

worker.addEventListener("install", () => void worker.skipWaiting());
worker.addEventListener("message", (event) => event.waitUntil(worker.clients.claim()));
worker.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method === "POST" && DOOR.test(url.pathname)) {
    event.respondWith(caches.delete(KEPT).then(() => fetch(event.request)));
  }
  if (event.request.method === "GET" && url.origin === worker.origin && OURS.test(url.pathname)) {
    event.respondWith(fresh(event.request));
  }
});

/** @param {Request} request @returns {Promise<Response>} */
async function fresh(request) {
  const kept = await caches.open(KEPT);
  try {
    const found = await fetch(request, { signal: AbortSignal.timeout(PATIENCE) });
    if (found.ok && !found.redirected) await kept.put(request, await marked(found.clone(), AT));
    return found;
  } catch {
    const before = await kept.match(request, { ignoreVary: true });
    const headers = { "Content-Type": "text/html; charset=utf-8" };
    if (!before) return new Response(NOTHING_KEPT, { status: 503, headers });
    const age = Date.now() - Number(before.headers.get(AT));
    return marked(before, "Server-Timing", `kept;dur=${age}`); // the page says how old it is
  }
}

/** The same answer with one more header. @param {Response} answer @param {string} name */
async function marked(answer, name, value = String(Date.now())) {
  const headers = new Headers(answer.headers);
  headers.set(name, value);
  return new Response(await answer.blob(), { status: answer.status, headers });
}
