/* [data-remove="#id"]: takes that part out of the page, says so, and puts focus on what stands next to it. */
import { say } from "./say.js";

export function removeParts() {
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-remove]");
    const part = button && document.querySelector(button.dataset.remove);
    if (!part) return;
    const next = part.nextElementSibling ?? part.previousElementSibling ?? part.parentElement;
    say(`${button.textContent.trim()}: done`);
    part.remove();
    next?.querySelector("input:not([type=hidden]), button, select")?.focus();
  });
}
