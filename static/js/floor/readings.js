/*
 * Readings of a check are kept on the tablet as they are typed, so that a check can be done without network and signed
 * when there is some: a signature wants the PIN, and a PIN is never kept.
 */
import { say } from "../behaviours/say.js";
import { kept, stillOf } from "../lib/readings.js";

const LONGEST_WAIT_MS = 5000;
const form = document.querySelector("form[data-keep-readings]");
const words = document.getElementById("readings-kept");
const key = `check ${window.location.pathname}`;
let mayGo = false;

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
  const at = new Date(found.at).toLocaleString("en-GB", {
    weekday: "short",
    day: "numeric",
    month: "short",
    hour: "2-digit",
    minute: "2-digit",
  });
  tell(`Typed ${at} and kept on this tablet. Not signed yet.`);
}

async function shopAnswers() {
  const url = document.getElementById("queue-state").dataset.stateUrl;
  try {
    const options = { cache: "no-store", redirect: "manual", signal: AbortSignal.timeout(LONGEST_WAIT_MS) };
    return (await fetch(url, options)).ok;
  } catch {
    return false;
  }
}

async function sign(event) {
  if (mayGo || event.submitter?.hasAttribute("formaction")) {
    return;
  }
  event.preventDefault();
  event.stopImmediatePropagation();
  keep();
  if (await shopAnswers()) {
    mayGo = true;
    form.requestSubmit(event.submitter);
    mayGo = false;
  } else {
    tell("No network. The readings are kept on this tablet: sign them here when it is back.");
  }
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
  form.addEventListener("input", keep);
  window.addEventListener("submit", (event) => event.target === form && sign(event), true);
}
