/* Sends what waits to the shop, one after the other. A press that was made on another page or tab waits behind. */
import { NEEDS_YOU, afterStumble, meaningOf, waitingIn } from "../lib/queue.js";
import * as store from "./store.js";

const ASK_MS = 15_000;
const SEND_MS = 90_000;

/* Gives {token, isShutOut}: the word that a form needs to be taken, or none while the shop can't be reached. */
export async function askForToken(url) {
  const response = await fetch(url, {
    cache: "no-store",
    redirect: "manual",
    signal: AbortSignal.timeout(ASK_MS),
  });
  const isShutOut = response.status === 401 || response.type === "opaqueredirect";
  return { isShutOut, token: response.ok ? (await response.json()).token : null };
}

async function send(entry, token, behind) {
  const body = new FormData();
  entry.fields.forEach(([name, value]) => body.append(name, value));
  const headers = {
    "X-CSRFToken": token,
    "X-Queue-Number": String(entry.number),
    "X-Queue-Behind": String(behind),
    "X-Done-At": entry.doneAt,
    "X-Sent-At": new Date().toISOString(),
  };
  const signal = AbortSignal.timeout(SEND_MS);
  const response = await fetch(entry.path, { method: "POST", headers, body, redirect: "manual", signal });
  const isJson = (response.headers.get("Content-Type") ?? "").includes("json");
  return meaningOf(response.status, isJson ? await response.json() : null);
}

/*
 * Sends until nothing waits or one can't be sent; gives how many were answered for, whether all were, and whether
 * the tablet is shut out. An entry leaves the queue only with the shop's answer in hand; `afterEach` runs then.
 */
export async function sendAll(stateUrl, afterEach) {
  const result = { answered: 0, isShutOut: false, isDone: false };
  let token = null;
  for (;;) {
    const waiting = waitingIn(await store.all());
    const [entry] = waiting;
    if (!entry) {
      return { ...result, isDone: true };
    }
    if (!token) {
      const asked = await askForToken(stateUrl);
      if (!asked.token) {
        return { ...result, isShutOut: asked.isShutOut };
      }
      token = asked.token;
    }
    const { what, words } = await send(entry, token, waiting.length - 1);
    if (what === "done") {
      await store.forget(entry.number);
    } else if (what === NEEDS_YOU) {
      await store.change({ ...entry, state: NEEDS_YOU, answer: words });
    } else if (what === "stumble") {
      const changed = afterStumble(entry);
      await store.change(changed);
      if (changed.state !== NEEDS_YOU) {
        return result;
      }
    } else {
      return { ...result, isShutOut: what === "pair" };
    }
    result.answered += 1;
    await afterEach();
  }
}
