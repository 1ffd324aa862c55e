/* What waits on a tablet: which is sent next, what an answer means for it, and how the state is said. */

export const WAITS = "waits";
export const NEEDS_YOU = "needs you";
const STUMBLES = 5;

/* What waits, the oldest first, so that the order of the floor is the order of the shop. */
export function waitingIn(entries) {
  return entries.filter((entry) => entry.state === WAITS).sort((a, b) => a.number - b.number);
}

/* The next to send. */
export function nextToSend(entries) {
  return waitingIn(entries)[0] ?? null;
}

/*
 * What an answer does to an entry: "done" (forget it), "needs you" (show it, with words), "pair" (stop: this
 * tablet is shut out, nothing is lost), "stumble" (the shop failed at it), "later" (keep it and ask again).
 */
export function meaningOf(status, body) {
  if (status >= 200 && status < 300) {
    return body?.outcome === "refused"
      ? { what: NEEDS_YOU, words: body.words }
      : { what: body?.outcome ? "done" : "later", words: body?.words ?? "" };
  }
  if (status === 401) {
    return { what: "pair", words: "" };
  }
  if (status === 500) {
    return { what: "stumble", words: "" };
  }
  if (status === 403 || status === 408 || status === 429 || status === 0 || status > 500) {
    return { what: "later", words: "" };
  }
  return { what: NEEDS_YOU, words: "The shop does not know this work any more. Tell the owner." };
}

/*
 * The entry after the shop stumbled over it (a fault of its own, 500): it waits for another try, a few times. Then it
 * steps aside, still kept, so that it does not hold up all that is behind it.
 */
export function afterStumble(entry) {
  const stumbles = (entry.stumbles ?? 0) + 1;
  if (stumbles < STUMBLES) {
    return { ...entry, stumbles };
  }
  const answer = `the shop’s computer failed at this ${STUMBLES} times. It is still kept here: show it to the owner`;
  return { ...entry, stumbles, state: NEEDS_YOU, answer, mayGoAgain: true };
}

/* The entry as it waits once more, in its old place in the order. */
export function onceMore(entry) {
  return { ...entry, state: WAITS, stumbles: 0, mayGoAgain: false };
}

export function wordsOfState(entries, isShutOut) {
  const needing = entries.filter((entry) => entry.state === NEEDS_YOU).length;
  const waiting = entries.length - needing;
  const parts = [];
  if (waiting) {
    parts.push(`${waiting} waiting to be sent`);
  }
  if (needing) {
    parts.push(`${needing} ${needing === 1 ? "needs" : "need"} you`);
  }
  const words = parts.join(", ") || "All sent";
  return isShutOut ? `${words}. This tablet is not paired: ask the owner` : words;
}

/* Seconds until the next try: soon at first, then slower, never more than a minute. */
export function secondsUntilNext(failures) {
  return Math.min(60, 5 * 2 ** Math.min(failures, 4));
}

/* A number that nobody else has, as a version 4 UUID; crypto.randomUUID is not there without https. */
export function freshNumber() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const word = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return word.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
