/*
 * Keeps the floor's pages fresh on the tablet while there is network, so that the last that was seen of everybody's
 * work opens without it: every sheet, and the checks and units that the sheets lead to.
 */

const EVERY_MS = 10 * 60 * 1000;
const PAGE = /^\/floor\/(\d+\/(check\/\d+\/)?|unit\/\d+\/)?$/;

function pagesIn(root) {
  const links = [...root.querySelectorAll("a[href]")].map((link) => link.getAttribute("href"));
  return links.filter((path) => PAGE.test(path));
}

async function keep(path) {
  const response = await fetch(path, { redirect: "manual" });
  return response.ok ? pagesIn(new DOMParser().parseFromString(await response.text(), "text/html")) : [];
}

/* Asks for the names, for everybody's sheet, and for the checks and units that these name; the service worker keeps them. */
async function keepAll(namesUrl) {
  const known = new Set([namesUrl]);
  const next = [namesUrl];
  while (next.length) {
    for (const path of await keep(next.shift())) {
      if (!known.has(path)) {
        known.add(path);
        next.push(path);
      }
    }
  }
}

/*
 * A page that was open before the service worker was there is not heard by it until the worker takes it over. One
 * that was opened just while the worker took over the others has to ask for it.
 */
function whenHeard(act) {
  const worker = navigator.serviceWorker;
  if (worker?.controller) {
    act();
    return;
  }
  worker?.addEventListener("controllerchange", act, { once: true });
  worker?.ready.then((there) => worker.controller || there.active?.postMessage("hear-me"));
}

export function keepPagesFresh(namesUrl) {
  const again = () => keepAll(namesUrl).catch(() => {});
  whenHeard(() => {
    again();
    window.setInterval(() => document.visibilityState === "visible" && again(), EVERY_MS);
  });
  let soon = 0;
  document.addEventListener("htmx:afterSettle", (event) => {
    if (event.target?.id === "sheet") {
      window.clearTimeout(soon);
      soon = window.setTimeout(() => fetch(window.location.pathname).catch(() => {}), 1000);
    }
  });
}
