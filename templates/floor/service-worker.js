/*
 * Keeps the floor's pages and what they are made of on the tablet. Pages come from the network while there is
 * one and from here when there is none; nothing that changes anything passes through here.
 */
const KEPT = "floor-1";

self.addEventListener("install", () => self.skipWaiting());

self.addEventListener("activate", (event) => {
  const others = (names) => names.filter((name) => name !== KEPT).map((name) => caches.delete(name));
  event.waitUntil(caches.keys().then((names) => Promise.all(others(names))).then(() => self.clients.claim()));
});

self.addEventListener("message", (event) => {
  if (event.data === "forget-pages") {
    event.waitUntil(caches.delete(KEPT));
  }
});

async function keep(request, response) {
  if (response.ok && !response.redirected) {
    const kept = await caches.open(KEPT);
    await kept.put(request, response.clone());
  }
  return response;
}

async function fromNetworkFirst(request) {
  try {
    return await keep(request, await fetch(request));
  } catch (error) {
    const known = await caches.match(request, { ignoreVary: true });
    if (known) {
      return known;
    }
    throw error;
  }
}

async function fromHereFirst(request) {
  const known = await caches.match(request, { ignoreVary: true });
  return known ?? keep(request, await fetch(request));
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) {
    return;
  }
  const isPart = request.headers.has("HX-Request");
  const isPage = url.pathname.startsWith("/floor/") && !isPart && !/^\/floor\/(state|pair)\//.test(url.pathname);
  if (isPage) {
    event.respondWith(fromNetworkFirst(request));
  } else if (url.pathname.startsWith("/static/")) {
    event.respondWith(fromHereFirst(request));
  }
});
