/* Puts each answer where it belongs, and says what to do when there is none. */
import { handlingOf, wordsFor } from "../lib/answer.js";
import { say } from "./say.js";

export function showTrouble(words) {
  const place = document.getElementById("messages");
  const pattern = document.getElementById("trouble");
  if (!place || !pattern) {
    return;
  }
  const notice = pattern.content.cloneNode(true);
  notice.querySelector("[data-words]").textContent = words;
  place.replaceChildren(notice);
  place.scrollIntoView({ block: "nearest" });
  say(words);
}

function place(event) {
  const { xhr } = event.detail;
  const handling = handlingOf(xhr.status, xhr.responseText);
  if (handling.kind === "reload") {
    event.detail.shouldSwap = false;
    window.location.reload();
  } else if (handling.kind === "say") {
    event.detail.shouldSwap = false;
    showTrouble(handling.words);
  } else if (handling.kind === "messages") {
    event.detail.shouldSwap = true;
    event.detail.target = document.getElementById("messages");
    event.detail.swapOverride = "innerHTML";
  }
}

export function keepAnswersInPlace() {
  document.addEventListener("htmx:beforeSwap", (event) => {
    const boosted = event.detail.boosted || event.detail.xhr.status === 204;
    if (!boosted) {
      place(event);
    }
  });
  document.addEventListener("htmx:sendError", () => showTrouble(wordsFor(0)));
  document.addEventListener("htmx:timeout", () => showTrouble(wordsFor(0)));
}
