/*
 * Work without network: a form that could not be sent waits in the tablet's queue and is sent, in order and once,
 * when the shop can be reached. While anything waits, new forms wait behind it. Checks are signed with the network
 * only: a PIN is never kept.
 */
import { say } from "../behaviours/say.js";
import { NEEDS_YOU, WAITS, meaningOf, nextToSend, secondsUntilNext, wordsOfState } from "../lib/queue.js";
import { smaller } from "./photos.js";
import * as store from "./store.js";

const bar = document.getElementById("queue-state");
const list = document.getElementById("queue-list");
let failures = 0;
let isShutOut = false;
let timer = 0;

function mayWait(form) {
  return form?.matches?.("#sheet form[hx-post]") && form.elements.once;
}

function labelOf(form, event) {
  const pressed = event.detail.requestConfig?.triggeringEvent?.submitter ?? form.querySelector("button");
  return pressed.textContent.replace(/\s+/g, " ").trim();
}

async function wait(event) {
  const form = event.detail.elt;
  const { path, formData } = event.detail.requestConfig;
  const fields = [];
  for (const [name, value] of formData.entries()) {
    if (name !== "csrfmiddlewaretoken") {
      fields.push([name, value instanceof File && value.size ? await smaller(value) : value]);
    }
  }
  await store.add({ path, fields, doneAt: new Date().toISOString(), words: labelOf(form, event), state: WAITS });
  say("Kept on this tablet until it can be sent");
  await show();
}

async function show() {
  const entries = await store.all();
  bar.textContent = wordsOfState(entries, isShutOut);
  bar.dataset.waiting = String(entries.length);
  list.hidden = entries.length === 0;
  list.replaceChildren(...entries.map(lineOf));
  for (const form of document.querySelectorAll("#sheet form[hx-post]")) {
    form.hidden = entries.some((entry) => entry.state === WAITS && entry.path === form.getAttribute("hx-post"));
  }
  return entries;
}

function lineOf(entry) {
  const line = document.createElement("li");
  const text = document.createElement("span");
  const at = new Date(entry.doneAt).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  text.textContent = `${entry.words}, ${at}: ${entry.state === WAITS ? "waits to be sent" : entry.answer}`;
  line.append(text);
  if (entry.state === NEEDS_YOU) {
    const seen = document.createElement("button");
    seen.type = "button";
    seen.className = "button button-small";
    seen.textContent = "Seen";
    seen.addEventListener("click", () => store.forget(entry.number).then(show));
    line.append(seen);
  }
  return line;
}

async function send(entry, token) {
  const body = new FormData();
  entry.fields.forEach(([name, value]) => body.append(name, value));
  const headers = {
    "X-CSRFToken": token,
    "X-Queue-Number": String(entry.number),
    "X-Done-At": entry.doneAt,
    "X-Sent-At": new Date().toISOString(),
  };
  const response = await fetch(entry.path, { method: "POST", headers, body, redirect: "manual" });
  const isJson = (response.headers.get("Content-Type") ?? "").includes("json");
  return meaningOf(response.status, isJson ? await response.json() : null);
}

async function token() {
  const response = await fetch(bar.dataset.stateUrl, { cache: "no-store", redirect: "manual" });
  isShutOut = response.status === 401 || response.type === "opaqueredirect";
  if (isShutOut) {
    navigator.serviceWorker?.controller?.postMessage("forget-pages");
  }
  return response.ok ? (await response.json()).token : null;
}

/* Sends one after the other until nothing waits or one can't be sent; gives how many were answered for. */
async function sendAll() {
  let answered = 0;
  let word = null;
  for (let entry = nextToSend(await store.all()); entry; entry = nextToSend(await store.all())) {
    word ??= await token();
    if (!word) {
      throw new Error("not now");
    }
    const { what, words } = await send(entry, word);
    if (what === "done") {
      await store.forget(entry.number);
    } else if (what === NEEDS_YOU) {
      await store.change({ ...entry, state: NEEDS_YOU, answer: words });
    } else {
      isShutOut = what === "pair";
      throw new Error("not now");
    }
    answered += 1;
  }
  return answered;
}

async function flush() {
  window.clearTimeout(timer);
  let answered = 0;
  try {
    const only = (act) => (navigator.locks ? navigator.locks.request("floor-flush", act) : act());
    answered = await only(sendAll);
    failures = 0;
  } catch {
    failures += 1;
  }
  const entries = await show();
  if (answered && document.getElementById("sheet")) {
    window.htmx.ajax("GET", window.location.pathname, { target: "#sheet", swap: "outerHTML" });
  }
  if (nextToSend(entries)) {
    timer = window.setTimeout(flush, secondsUntilNext(failures) * 1000);
  }
}

function whileSomethingWaits(event) {
  if (mayWait(event.detail.elt) && Number(bar.dataset.waiting) > 0 && event.detail.requestConfig.verb === "post") {
    event.preventDefault();
    wait(event).then(flush);
  }
}

function notSent(event) {
  if (mayWait(event.detail.elt)) {
    event.stopImmediatePropagation();
    wait(event).then(() => {
      timer = window.setTimeout(flush, secondsUntilNext(failures) * 1000);
    });
  }
}

function begin() {
  window.addEventListener("htmx:beforeRequest", whileSomethingWaits, true);
  window.addEventListener("htmx:sendError", notSent, true);
  window.addEventListener("htmx:timeout", notSent, true);
  document.addEventListener("htmx:afterSettle", show);
  window.addEventListener("online", flush);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && flush());
  navigator.serviceWorker?.register("/service-worker.js", { scope: "/" });
  navigator.serviceWorker?.ready.then(() => {
    for (const name of document.querySelectorAll("[data-keep-page]")) {
      fetch(name.href).catch(() => {});
    }
  });
  flush();
}

if (bar && "indexedDB" in window) {
  begin();
}
