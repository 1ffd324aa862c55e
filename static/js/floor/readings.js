/*
 * Readings of a check are kept on the tablet as they are typed, so that a check can be done without network. It is
 * signed there too: the signature waits in the queue, and the PIN is never kept but sealed for the shop.
 */
import { say } from "../behaviours/say.js";
import { NEEDS_YOU, WAITS, freshNumber, nextToSend } from "../lib/queue.js";
import { kept, stillOf } from "../lib/readings.js";
import { canSeal, seal } from "../lib/seal.js";
import * as store from "./store.js";

const LONGEST_WAIT_MS = 5000;
const form = document.querySelector("form[data-keep-readings]");
const words = document.getElementById("readings-kept");
const told = document.getElementById("sign-told");
const path = window.location.pathname;
const key = `check ${path}`;
const VERDICTS = "button[name=verdict]";
let mayGo = false;
let wasWaiting = false;

function tell(text) {
  words.textContent = text;
  words.hidden = false;
  say(text);
}

function keep() {
  try {
    localStorage.setItem(key, kept([...new FormData(form).entries()], form.dataset.keepReadings, Date.now()));
  } catch {
    tell("These readings can’t be kept on this tablet. Write them down as well.");
  }
}

function restore() {
  const found = stillOf(localStorage.getItem(key), form.dataset.keepReadings);
  if (!found) {
    localStorage.removeItem(key);
    return;
  }
  const typed = new Map(found.fields);
  for (const field of form.elements) {
    if (field.type === "checkbox" || field.type === "radio") {
      field.checked = typed.get(field.name) === field.value;
    } else if (typed.has(field.name) && field.type !== "hidden") {
      field.value = typed.get(field.name);
    }
  }
  tell(`Typed ${dayAndTime(found.at)} and kept on this tablet. Not signed yet.`);
}

const dayAndTime = (at) =>
  new Date(at).toLocaleString("en-GB", {
    weekday: "short",
    day: "numeric",
    month: "short",
    hour: "2-digit",
    minute: "2-digit",
  });

async function shopAnswers() {
  const url = document.getElementById("queue-state").dataset.stateUrl;
  try {
    const options = { cache: "no-store", redirect: "manual", signal: AbortSignal.timeout(LONGEST_WAIT_MS) };
    return (await fetch(url, options)).ok;
  } catch {
    return false;
  }
}

function tellAtTheButtons(text) {
  told.textContent = text;
  told.hidden = !text;
  say(text);
}

/* The signature waits in the tablet's queue like everything else, with the PIN sealed: only the shop can read it. */
async function signLater(button) {
  const once = form.elements.once.value;
  const fields = [...new FormData(form, button).entries()];
  const open = fields.filter(([name]) => name !== "pin" && name !== "csrfmiddlewaretoken");
  const sealed = await seal(form.elements.pin.value, form.dataset.sealKey, `${path} ${once}`);
  const words = `${button.textContent.trim()}: ${document.querySelector("h1").textContent.trim()}`;
  const entry = { path, words, doneAt: new Date().toISOString(), state: WAITS };
  await store.add({ ...entry, fields: [...open, ["sealed_pin", sealed]] });
  form.elements.pin.value = "";
  form.elements.once.value = freshNumber();
  window.dispatchEvent(new Event("online"));
}

async function signWithoutNetwork(button) {
  if (!canSeal()) {
    tellAtTheButtons("No network. The readings are kept on this tablet: sign them here when it is back.");
  } else if (!form.elements.pin.value.trim()) {
    tellAtTheButtons("Type the PIN. It is sealed here and can be read by the shop only.");
    form.elements.pin.focus();
  } else {
    await signLater(button).catch(() => tellAtTheButtons("This could not be kept on the tablet. Write it down."));
  }
}

async function sign(event) {
  if (mayGo || event.submitter?.hasAttribute("formaction")) {
    return;
  }
  event.preventDefault();
  event.stopImmediatePropagation();
  keep();
  const button = event.submitter ?? form.querySelector(VERDICTS);
  const isBehind = nextToSend(await store.all()) !== null;
  if (!isBehind && (await shopAnswers())) {
    mayGo = true;
    form.requestSubmit(button);
    mayGo = false;
  } else {
    await signWithoutNetwork(button);
  }
}

/* What became of a signature that waits: the buttons rest meanwhile, and the page is fresh when it was taken. */
async function followSignature() {
  const own = (await store.all()).filter((entry) => entry.path === path);
  const waiting = own.find((entry) => entry.state === WAITS);
  const refused = own.find((entry) => entry.state === NEEDS_YOU);
  form.querySelectorAll(VERDICTS).forEach((button) => (button.disabled = Boolean(waiting)));
  if (waiting) {
    tellAtTheButtons(`Signed on this tablet ${dayAndTime(waiting.doneAt)}. It counts once the shop has it.`);
  } else if (refused) {
    tellAtTheButtons(`Not signed: ${refused.answer}`);
  } else if (wasWaiting) {
    window.location.reload();
  }
  wasWaiting = Boolean(waiting);
}

/* Reckoning the limits can wait for network; a message in its place would push a button away under a finger. */
function staysQuiet(event) {
  if (event.detail.elt.matches?.("[data-quiet]")) {
    event.stopImmediatePropagation();
  }
}

if (form && words) {
  window.addEventListener("htmx:sendError", staysQuiet, true);
  window.addEventListener("htmx:timeout", staysQuiet, true);
  if (!form.querySelector("[aria-invalid]")) {
    restore();
  }
  form.elements.once.value = freshNumber();
  form.addEventListener("input", keep);
  window.addEventListener("queue-changed", followSignature);
  store.whenOthersChange(followSignature);
  followSignature();
  window.addEventListener("submit", (event) => event.target === form && sign(event), true);
}
