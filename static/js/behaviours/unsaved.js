/* Asks before a page with unsent input in a form[data-unsaved] is left. */
import { hasChanged, printOf } from "../lib/unsaved.js";

const prints = new WeakMap();

function entriesOf(form) {
  return [...new FormData(form).entries()];
}

export function warnOfUnsaved() {
  document.addEventListener("focusin", (event) => {
    const form = event.target.closest?.("form[data-unsaved]");
    if (form && !prints.has(form)) {
      prints.set(form, printOf(entriesOf(form)));
    }
  });
  document.addEventListener("submit", (event) => prints.delete(event.target));
  window.addEventListener("beforeunload", (event) => {
    const forms = [...document.querySelectorAll("form[data-unsaved]")];
    if (forms.some((form) => prints.has(form) && hasChanged(prints.get(form), entriesOf(form)))) {
      event.preventDefault();
    }
  });
}
