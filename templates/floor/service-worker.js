/*
 * Keeps the floor's pages and what they are made of on the tablet. Pages come from the network while there is
 * one and from here when there is none, or when it does not answer in time; nothing that changes anything passes
 * through here. One store for all versions of this script: a new version still has the pages of the old one.
 */
const KEPT = "floor";
const PATIENCE_MS = 4000;

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

function known(request) {
  return caches.match(request, { ignoreVary: true });
}

async function fromNetworkFirst(request) {
  const asked = fetch(request).then((response) => keep(request, response));
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
  return (await known(request)) ?? keep(request, await fetch(request));
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
