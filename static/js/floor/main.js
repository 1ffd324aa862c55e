/*
 * Work without network: a form that could not be sent waits in the tablet's queue and is sent, in order and once,
 * when the shop can be reached. While anything waits, new forms wait behind it. Signatures of checks wait too, with
 * the PIN sealed (readings.js).
 */
import { showTrouble } from "../behaviours/answers.js";
import { say } from "../behaviours/say.js";
import { WAITS, freshNumber, nextToSend, secondsUntilNext } from "../lib/queue.js";
import { keepPagesFresh } from "./keeping.js";
import { smaller } from "./photos.js";
import { sendAll } from "./sending.js";
import { bar, foldOnPress, show } from "./showing.js";
import * as store from "./store.js";

const NO_ROOM = "This could not be kept on the tablet: it has no room left. Write it down, or try again with network.";

let failures = 0;
let isShutOut = false;
let timer = 0;
const beingKept = new Set();
let keeping = Promise.resolve();

const showAll = () => show(isShutOut);

function mayWait(form) {
  return form?.matches?.("#sheet form[hx-post]") && form.elements.once;
}

function labelOf(form, event) {
  const pressed = event.detail.requestConfig?.triggeringEvent?.submitter ?? form.querySelector("button");
  return pressed.textContent.replace(/\s+/g, " ").trim();
}

/* A form counts once by its own number; the next thing typed into it, or into the kept page, is another thing. */
function renew(form) {
  form.elements.once.value = freshNumber();
}

function isEmpty(form) {
  const said = form.querySelector("textarea, input[type=file]");
  return Boolean(said) && !said.value.trim();
}

/* Presses are kept one after the other, in their order, also while a photo is still being made smaller. */
function wait(event) {
  const form = event.detail.elt;
  const { path, formData } = event.detail.requestConfig;
  if (beingKept.has(form)) {
    return keeping;
  }
  if (isEmpty(form)) {
    showTrouble("There is nothing to keep yet: write or choose it first.");
    return keeping;
  }
  const entry = { path, words: labelOf(form, event), doneAt: new Date().toISOString(), state: WAITS };
  const fields = [...formData.entries()].filter(([name]) => name !== "csrfmiddlewaretoken");
  beingKept.add(form);
  renew(form);
  keeping = keeping.then(() => keep(form, entry, fields)).finally(() => beingKept.delete(form));
  return keeping;
}

async function keep(form, entry, fields) {
  const small = ([name, value]) => (value instanceof File && value.size ? smaller(value) : value);
  try {
    const kept = await Promise.all(fields.map(async (field) => [field[0], await small(field)]));
    await store.add({ ...entry, fields: kept });
  } catch {
    showTrouble(NO_ROOM);
    return;
  }
  if ("many" in form.dataset) {
    form.reset();
  }
  say("Kept on this tablet until it can be sent");
  await showAll();
}

async function flush() {
  window.clearTimeout(timer);
  let answered = 0;
  try {
    const act = () => sendAll(bar.dataset.stateUrl, showAll);
    const result = await (navigator.locks ? navigator.locks.request("floor-flush", act) : act());
    ({ answered, isShutOut } = result);
    failures = result.isDone ? 0 : failures + 1;
  } catch {
    failures += 1;
  }
  if (isShutOut) {
    navigator.serviceWorker?.controller?.postMessage("forget-pages");
  }
  const entries = await showAll();
  if (answered && document.getElementById("sheet")) {
    window.htmx.ajax("GET", window.location.pathname, { target: "#sheet", swap: "outerHTML" });
  }
  if (nextToSend(entries)) {
    later();
  }
}

function later() {
  window.clearTimeout(timer);
  timer = window.setTimeout(flush, secondsUntilNext(failures) * 1000);
}

/* Until the queue was looked at, something may wait in it: what is pressed that early goes behind it. */
function whileSomethingWaits(event) {
  const isBehind = beingKept.size > 0 || bar.dataset.waiting !== "0";
  if (isBehind && mayWait(event.detail.elt) && event.detail.requestConfig.verb === "post") {
    event.preventDefault();
    wait(event).then(flush);
  }
}

function notSent(event) {
  if (mayWait(event.detail.elt)) {
    event.stopImmediatePropagation();
    wait(event).then(later);
  }
}

function begin() {
  document.querySelectorAll("#sheet form[hx-post]").forEach((form) => form.elements.once && renew(form));
  window.addEventListener("htmx:beforeRequest", whileSomethingWaits, true);
  window.addEventListener("htmx:sendError", notSent, true);
  window.addEventListener("htmx:timeout", notSent, true);
  document.addEventListener("htmx:afterSettle", showAll);
  store.whenOthersChange(showAll);
  window.addEventListener("online", flush);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && flush());
  navigator.serviceWorker?.register("/service-worker.js", { scope: "/" });
  navigator.storage?.persist?.();
  foldOnPress(showAll);
  keepPagesFresh(bar.dataset.namesUrl);
  showAll().finally(flush);
}

if (bar && "indexedDB" in window) {
  begin();
}
