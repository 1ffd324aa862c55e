/*
 * One press, one request. Buttons are marked busy rather than disabled, because a disabled button drops the
 * focus it holds; a second press is swallowed here.
 */

function buttonsOf(element) {
  if (element.matches("form")) {
    const inside = [...element.querySelectorAll("button:not([type=button]), input[type=submit]")];
    const outside = element.id ? [...document.querySelectorAll(`button[form="${element.id}"]`)] : [];
    return [...inside, ...outside];
  }
  return element.matches("button, a, [role=button]") ? [element] : [];
}

function mark(element, busy) {
  for (const button of buttonsOf(element)) {
    if (busy) {
      button.setAttribute("aria-busy", "true");
      button.setAttribute("aria-disabled", "true");
    } else {
      button.removeAttribute("aria-busy");
      button.removeAttribute("aria-disabled");
    }
  }
}

const running = new WeakSet();

function isGet(element) {
  return element.matches("form") && (element.method || "get").toLowerCase() === "get";
}

function refuseSecondSubmit(event) {
  const form = event.target;
  if (event.defaultPrevented || isGet(form)) {
    return;
  }
  if (running.has(form)) {
    event.preventDefault();
    return;
  }
  running.add(form);
  mark(form, true);
}

export function refuseDoubleSubmits() {
  document.addEventListener("submit", refuseSecondSubmit);
  document.addEventListener("htmx:beforeRequest", (event) => {
    const source = event.detail.elt;
    if (event.defaultPrevented) {
      return;
    }
    if (running.has(source) && event.detail.requestConfig.verb !== "get") {
      event.preventDefault();
      return;
    }
    running.add(source);
    mark(source, true);
  });
  document.addEventListener("htmx:afterRequest", (event) => {
    running.delete(event.detail.elt);
    mark(event.detail.elt, false);
  });
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) {
      document.querySelectorAll("form").forEach((form) => {
        running.delete(form);
        mark(form, false);
      });
    }
  });
}
