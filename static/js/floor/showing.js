/* Shows what waits: the line in the bar, the list over it, and which forms of the sheet are pressed already. */
import { NEEDS_YOU, WAITS, onceMore, wordsOfState } from "../lib/queue.js";
import * as store from "./store.js";

export const bar = document.getElementById("queue-state");
const list = document.getElementById("queue-list");
const fold = document.getElementById("queue-fold");

const CHECK = /\/check\/\d+\/$/;

function button(words, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "button";
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}

function linkTo(path, words) {
  const made = document.createElement("a");
  made.className = "button";
  made.href = path;
  made.textContent = words;
  return made;
}

/* A button that asks once more in its own words before it acts. */
function sureButton(words, sureWords, act) {
  const made = button(words, () => {
    if (made.textContent === sureWords) {
      act();
    } else {
      made.textContent = sureWords;
    }
  });
  return made;
}

const isUnfolded = () => fold.getAttribute("aria-expanded") === "true";

/* Whoever sends the queue hears of it as of a network that is back. */
const sendsAgain = () => window.dispatchEvent(new Event("online"));

function lineOf(entry, again) {
  const line = document.createElement("li");
  const text = document.createElement("span");
  const at = new Date(entry.doneAt).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  text.textContent = `${entry.words}, ${at}: ${entry.state === WAITS ? "waits to be sent" : entry.answer}`;
  line.append(text);
  line.hidden = entry.state === WAITS && !isUnfolded();
  if (entry.state === NEEDS_YOU) {
    if (CHECK.test(entry.path) && entry.path !== window.location.pathname) {
      line.append(linkTo(entry.path, "Open the check"));
    }
    if (entry.mayGoAgain) {
      line.append(button("Send again", () => store.change(onceMore(entry)).then(again).then(sendsAgain)));
    }
    const forget = () => store.forget(entry.number).then(again);
    line.append(entry.mayGoAgain ? sureButton("Throw away", "Yes, throw it away", forget) : button("Seen", forget));
  }
  return line;
}

function showList(entries, again) {
  const waiting = entries.filter((entry) => entry.state === WAITS).length;
  bar.dataset.waiting = String(waiting);
  fold.hidden = waiting === 0;
  list.replaceChildren(...entries.map((entry) => lineOf(entry, again)));
  list.hidden = [...list.children].every((line) => line.hidden);
}

/* What needs somebody is always seen; what only waits is folded away, or a long day would cover the sheet. */
export function foldOnPress(again) {
  fold.addEventListener("click", () => {
    fold.setAttribute("aria-expanded", String(!isUnfolded()));
    fold.textContent = isUnfolded() ? "Hide them" : "Show them";
    again();
  });
}

/* Gives the entries it showed. A form that may be pressed once stays away while its press waits. */
export async function show(isShutOut) {
  const entries = await store.all();
  const words = wordsOfState(entries, isShutOut);
  if (bar.textContent !== words) {
    bar.textContent = words;
  }
  showList(entries, () => show(isShutOut));
  for (const form of document.querySelectorAll("#sheet form[hx-post]:not([data-many])")) {
    form.hidden = entries.some((entry) => entry.state === WAITS && entry.path === form.getAttribute("hx-post"));
  }
  return entries;
}
