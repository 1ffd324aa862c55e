/*
 * Keeps an element current: data-poll="/url" data-poll-every="3" asks for it again and swaps it when it changed.
 * The server answers 304 while nothing did (ETag). Nothing is swapped under somebody's hands: while the focus
 * is in a form inside, or work is being dragged, the swap waits. data-poll-say="..." is read out when something changed.
 */
import { eventsIn, nextDelay } from "../lib/poll.js";
import { rememberFocus } from "./focus.js";
import { rememberTyped } from "./keep_typed.js";
import { say } from "./say.js";

const known = new Map();

function inUse(element) {
  const active = document.activeElement;
  const typing = element.contains(active) && active.matches("input, select, textarea");
  return typing || document.documentElement.classList.contains("is-dragging");
}

function tell(response, element) {
  for (const { name, detail } of eventsIn(response.headers.get("HX-Trigger"))) {
    element.dispatchEvent(new CustomEvent(name, { bubbles: true, detail }));
  }
}

async function ask(element, state) {
  const headers = { "HX-Request": "true", "HX-Target": element.id };
  if (state.tag) {
    headers["If-None-Match"] = state.tag;
  }
  const response = await fetch(element.dataset.poll, { headers, cache: "no-store", redirect: "manual" });
  if (response.status === 304) {
    return;
  }
  if (!response.ok) {
    throw new Error(`poll answered ${response.status}`);
  }
  const text = await response.text();
  if (!element.isConnected || inUse(element)) {
    return;
  }
  const isNews = Boolean(state.tag) || element.dataset.pollStale === "yes";
  state.tag = response.headers.get("ETag") ?? "";
  swapIn(element, text);
  if (isNews) {
    tell(response, document.getElementById(element.id) ?? document.body);
    say(element.dataset.pollSay);
  }
}

function swapIn(element, text) {
  if (element.outerHTML.trim() !== text.trim()) {
    rememberTyped(element);
    rememberFocus({ isQuiet: true });
    window.htmx.swap(element, text, { swapStyle: "outerHTML", swapDelay: 0, settleDelay: 0 });
  }
}

async function turn(id) {
  const element = document.getElementById(id);
  const state = known.get(id);
  if (!element?.dataset.poll) {
    known.delete(id);
    return;
  }
  if (document.visibilityState === "visible") {
    try {
      await ask(element, state);
      state.failures = 0;
    } catch {
      state.failures += 1;
    }
  }
  const now = document.getElementById(id) ?? element;
  window.clearTimeout(state.timer);
  state.element = now;
  state.timer = window.setTimeout(() => turn(id), nextDelay(now.dataset.pollEvery, state.failures));
}

/* A part that another answer swapped in starts its pace anew: it may have something to wait for. */
function begin() {
  for (const element of document.querySelectorAll("[data-poll][id]")) {
    const before = known.get(element.id);
    if (before?.element === element) {
      continue;
    }
    window.clearTimeout(before?.timer);
    const state = { element, tag: element.dataset.pollTag ?? "", failures: 0, timer: 0 };
    known.set(element.id, state);
    state.timer = window.setTimeout(() => turn(element.id), nextDelay(element.dataset.pollEvery, 0));
  }
}

export function poll() {
  begin();
  document.addEventListener("htmx:afterSettle", begin);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") {
      for (const [id, state] of known) {
        window.clearTimeout(state.timer);
        turn(id);
      }
    }
  });
}
