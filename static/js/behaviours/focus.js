/*
 * Keeps the focus after a swap: on what asks for it (data-focus), else on the element of the same id, else on
 * what was swapped in, so that the keyboard never starts again at the top of the page.
 */

let wasOn = null;

function reachable(element) {
  return element && element.isConnected && !element.hidden;
}

function focusOn(element, isQuiet) {
  if (!element.matches("a[href], button, input, select, textarea, summary, [tabindex]")) {
    element.setAttribute("tabindex", "-1");
  }
  element.focus({ preventScroll: Boolean(isQuiet) });
}

export function focusAfterSwap(swapped) {
  const asked = swapped?.matches?.("[data-focus]") ? swapped : swapped?.querySelector?.("[data-focus]");
  if (reachable(asked)) {
    focusOn(asked);
    return;
  }
  const held = document.activeElement && document.activeElement !== document.body;
  if (held || wasOn === null) {
    return;
  }
  const same = wasOn.id ? document.getElementById(wasOn.id) : null;
  const next = reachable(same) ? same : document.getElementById(wasOn.within) ?? swapped;
  if (reachable(next)) {
    focusOn(next, wasOn.isQuiet);
  }
}

/* Quietly: the page is not scrolled to it, because nobody pressed anything. */
export function rememberFocus({ isQuiet = false } = {}) {
  const active = document.activeElement;
  const some = active && active !== document.body;
  wasOn = some ? { id: active.id, within: active.parentElement?.closest("[id]")?.id ?? "", isQuiet } : null;
}

export function keepFocus() {
  document.addEventListener("htmx:beforeSwap", () => rememberFocus());
  document.addEventListener("htmx:afterSettle", (event) => focusAfterSwap(event.detail.elt));
}
