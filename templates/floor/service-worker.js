/*
 * Keeps the floor's pages and what they are made of on the tablet. Pages come from the network while there is
 * one and from here when there is none, or when it does not answer in time; nothing that changes anything passes
 * through here. One store for all versions of this script: a new version still has the pages of the old one.
 */
const KEPT = "floor";
const PATIENCE_MS = 4000;
let shutOutAt = -1;

self.addEventListener("install", () => self.skipWaiting());

self.addEventListener("activate", (event) => {
  const others = (names) => names.filter((name) => name !== KEPT).map((name) => caches.delete(name));
  event.waitUntil(caches.keys().then((names) => Promise.all(others(names))).then(() => self.clients.claim()));
});

self.addEventListener("message", (event) => {
  if (event.data === "forget-pages") {
    event.waitUntil(caches.delete(KEPT));
  } else if (event.data === "hear-me") {
    event.waitUntil(self.clients.claim());
  }
});

/*
 * The shop sends a tablet that is not paired any more away: nothing that was only for reading stays on it then, nor
 * comes back with an answer that was asked for before.
 */
async function watch(response) {
  if (response.type === "opaqueredirect" || response.redirected || response.status === 401) {
    shutOutAt = performance.now();
    await caches.delete(KEPT);
  }
  return response;
}

async function keep(request, response, askedAt) {
  if (response.ok && !response.redirected && askedAt > shutOutAt) {
    const kept = await caches.open(KEPT);
    await kept.put(request, response.clone());
  }
  return response;
}

function known(request) {
  return caches.match(request, { ignoreVary: true });
}

async function fromNetworkFirst(request) {
  const askedAt = performance.now();
  const asked = fetch(request).then(watch).then((response) => keep(request, response, askedAt));
  asked.catch(() => {});
  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS)).then(() => known(request));
  try {
    return (await Promise.race([asked, late])) ?? (await asked);
  } catch (error) {
    const page = await known(request);
    if (page) {
      return page;
    }
    throw error;
  }
}

async function fromHereFirst(request) {
  return (await known(request)) ?? keep(request, await fetch(request), performance.now());
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) {
    return;
  }
  const isFloor = url.pathname.startsWith("/floor/") && !/^\/floor\/(state|pair)\//.test(url.pathname);
  if (isFloor && request.headers.has("HX-Request")) {
    event.respondWith(fetch(request).then(watch));
  } else if (isFloor) {
    event.respondWith(fromNetworkFirst(request));
  } else if (url.pathname.startsWith("/static/")) {
    event.respondWith(fromHereFirst(request));
  }
});
