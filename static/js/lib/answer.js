/*
 * What to do with an answer to a part-of-page request. A fragment is swapped in where it belongs, also when it
 * says no; a whole page (an error page, a sign-in page) must never land inside another one.
 */

const SWAPPED_STATUSES = [400, 403, 404, 409, 422];

export function isWholePage(body) {
  return /^\s*<!doctype/i.test(body ?? "");
}

/* A refusal nobody placed says so by its root's id: it goes to the messages at the top. */
export function isLooseRefusal(body) {
  return /^\s*<[a-z]+[^>]*\sid="refused"/i.test(body ?? "");
}

export function handlingOf(status, body) {
  if (status < 300) {
    return isWholePage(body) ? { kind: "reload" } : { kind: "swap" };
  }
  if (isWholePage(body)) {
    return { kind: "say", words: wordsFor(status) };
  }
  if (isLooseRefusal(body)) {
    return { kind: "messages" };
  }
  if (SWAPPED_STATUSES.includes(status) && (body ?? "").trim() !== "") {
    return { kind: "swap" };
  }
  return { kind: "say", words: wordsFor(status) };
}

export function wordsFor(status) {
  if (status === 0) {
    return "No answer from the workshop’s machine. Nothing was changed; try again when the network is back.";
  }
  if (status === 403) {
    return "This page is out of date, or it is not yours to change. Load it again and try once more.";
  }
  if (status === 404) {
    return "That is not there any more. Load the page again to see what is.";
  }
  if (status === 409) {
    return "Somebody else changed this in the meantime. Load the page again to see it as it is now.";
  }
  if (status === 429) {
    return "Too many tries. Wait a few minutes and try again.";
  }
  if (status >= 500) {
    return "Something broke on our side and nothing was changed. Try again; if it happens twice, tell the owner.";
  }
  return "That could not be done, and nothing was changed.";
}
