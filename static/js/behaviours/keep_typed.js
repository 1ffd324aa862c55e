/*
 * What was typed or chosen and not sent yet outlives a new sheet: when something else on it was pressed, or somebody
 * changed it, the very fields go over into the new one, and what was opened stays open. What was sent does not.
 */
import { isChanged } from "../lib/typed.js";

let fields = [];
let folds = [];

/* Remembers what the sheet holds that the next one can't know; `sent` is the form that was pressed, if one was. */
export function rememberTyped(sheet, sent) {
  if (sheet?.id !== "sheet") {
    return;
  }
  const isSent = (element) => Boolean(sent?.matches?.("form") && sent.contains(element));
  const typed = [...sheet.querySelectorAll("input[id], textarea[id], select[id]")];
  fields = typed.filter((field) => isChanged(field) && !isSent(field));
  folds = [...sheet.querySelectorAll("details[id][open]")].filter((fold) => !fold.contains(sent) || fold.matches(".fold"));
}

function putBack() {
  for (const field of fields.splice(0)) {
    const now = document.getElementById(field.id);
    if (now && now !== field && now.name === field.name) {
      now.replaceWith(field);
    }
  }
  for (const { id } of folds.splice(0)) {
    document.getElementById(id)?.setAttribute("open", "");
  }
}

export function keepTyped() {
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (event.detail.shouldSwap) {
      rememberTyped(event.detail.target, event.detail.requestConfig?.elt);
    }
  });
  document.addEventListener("htmx:afterSwap", putBack);
}
