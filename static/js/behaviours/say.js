/*
 * Reads changes out to those who do not see them: HX-Trigger: {"say": "Moved to week 45"} from the server, or
 * data-say="..." on what was swapped in.
 */
import { wordsOf } from "../lib/said.js";

export function say(words) {
  const place = document.getElementById("said");
  if (!place || !words) {
    return;
  }
  place.textContent = "";
  window.setTimeout(() => {
    place.textContent = words;
  }, 60);
}

export function sayChanges() {
  document.addEventListener("say", (event) => say(wordsOf(event.detail)));
  document.addEventListener("htmx:afterSettle", (event) => {
    const changed = event.detail.elt;
    const speaker = changed?.matches?.("[data-say]") ? changed : changed?.querySelector?.("[data-say]");
    say(speaker?.dataset.say);
  });
}
