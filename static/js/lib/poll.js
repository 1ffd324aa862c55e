/* When to ask again: at the wished pace while all is well, slower with every failure, up to a minute. */

export function nextDelay(seconds, failures) {
  const wished = Math.max(1, Number(seconds) || 5);
  return Math.min(60, wished * 2 ** Math.min(failures, 6)) * 1000;
}

/* The events an answer carries in its HX-Trigger header: names, or an object of names and details. */
export function eventsIn(header) {
  if (!header) {
    return [];
  }
  if (header.trim().startsWith("{")) {
    return Object.entries(JSON.parse(header)).map(([name, detail]) => ({ name, detail }));
  }
  return header
    .split(",")
    .map((name) => name.trim())
    .filter(Boolean)
    .map((name) => ({ name, detail: null }));
}
