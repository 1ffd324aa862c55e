/*
 * Moves work to another week by hand. What can be lifted carries data-drag-task (and any other data-drag-NAME),
 * a week carries data-drop-week (and data-drop-NAME). Dropping fills the fields of those names in the form
 * named by data-drag-form on or around what was lifted, and submits it: the same form works without dragging.
 */
import { edgeScroll, fieldsFrom, hasMovedEnough, mayDrop } from "../lib/drag.js";

const HOLD_MS = 300;
let lift = null;

function formFor(element) {
  const holder = element.closest("[data-drag-form]");
  return holder ? document.querySelector(holder.dataset.dragForm) : null;
}

function begin(event) {
  const item = event.target.closest?.("[data-drag-task]");
  if (!item || event.button !== 0 || lift || !formFor(item)) {
    return;
  }
  if (event.target.closest("button, input, select, textarea, summary")) {
    return;
  }
  lift = { item, pointer: event.pointerId, from: { x: event.clientX, y: event.clientY }, shade: null, over: null };
  if (event.pointerType !== "mouse") {
    lift.timer = window.setTimeout(() => raise(lift.from), HOLD_MS);
  }
}

function raise(at) {
  const shade = document.createElement("div");
  shade.className = "drag-shade";
  shade.textContent = lift.item.dataset.label ?? lift.item.textContent.trim();
  document.body.append(shade);
  lift.shade = shade;
  lift.item.classList.add("is-lifted");
  document.documentElement.classList.add("is-dragging");
  moveTo(at);
}

function weekUnder(at) {
  const week = document.elementFromPoint(at.x, at.y)?.closest("[data-drop-week]") ?? null;
  if (!week) {
    return null;
  }
  return mayDrop(fieldsFrom(lift.item.dataset, "drag"), fieldsFrom(week.dataset, "drop")) ? week : null;
}

function moveTo(at) {
  lift.shade.style.left = `${at.x + 12}px`;
  lift.shade.style.top = `${at.y + 12}px`;
  const week = weekUnder(at);
  if (week !== lift.over) {
    lift.over?.classList.remove("is-over");
    week?.classList.add("is-over");
    lift.over = week;
  }
  const frame = lift.item.closest(".weeks-frame");
  if (frame) {
    const edge = frame.getBoundingClientRect();
    frame.scrollBy(edgeScroll(at.x, edge.left, edge.right), edgeScroll(at.y, edge.top, edge.bottom));
  }
}

function follow(event) {
  if (!lift || event.pointerId !== lift.pointer) {
    return;
  }
  const at = { x: event.clientX, y: event.clientY };
  if (lift.shade) {
    moveTo(at);
  } else if (hasMovedEnough(lift.from, at)) {
    if (event.pointerType === "mouse") {
      raise(at);
    } else {
      letGo();
    }
  }
}

function fill(form, fields) {
  for (const [name, value] of Object.entries(fields)) {
    const field = form.elements.namedItem(name);
    if (field) {
      field.value = value;
    }
  }
}

function drop(event) {
  if (!lift || event.pointerId !== lift.pointer) {
    return;
  }
  const { item, over, shade } = lift;
  letGo();
  if (shade) {
    window.addEventListener("click", swallow, { capture: true, once: true });
    window.setTimeout(() => window.removeEventListener("click", swallow, { capture: true }), 50);
  }
  if (shade && over && !over.contains(item)) {
    const form = formFor(item);
    fill(form, { ...fieldsFrom(item.dataset, "drag"), ...fieldsFrom(over.dataset, "drop") });
    form.requestSubmit();
  }
}

function swallow(event) {
  event.preventDefault();
  event.stopPropagation();
}

function letGo() {
  if (!lift) {
    return;
  }
  window.clearTimeout(lift.timer);
  lift.shade?.remove();
  lift.over?.classList.remove("is-over");
  lift.item.classList.remove("is-lifted");
  document.documentElement.classList.remove("is-dragging");
  lift = null;
}

/* On the floor nothing is dragged, and nothing may listen to a finger that scrolls. */
export function dragWorkToWeeks() {
  if (document.body.classList.contains("floor")) {
    return;
  }
  document.addEventListener("pointerdown", begin);
  document.addEventListener("pointermove", follow);
  document.addEventListener("pointerup", drop);
  document.addEventListener("pointercancel", letGo);
  document.addEventListener("dragstart", (event) => {
    if (event.target.closest?.("[data-drag-task]")) {
      event.preventDefault();
    }
  });
  document.addEventListener("touchmove", (event) => lift?.shade && event.preventDefault(), { passive: false });
  document.addEventListener("keydown", (event) => event.key === "Escape" && letGo());
}
