/* Sheets with weeks across: opens on the present, and stays where it was scrolled when it is asked for anew. */

const held = new Map();

function frameIn(element) {
  return element?.querySelector?.(".weeks-frame") ?? null;
}

function showNow(frame) {
  const now = frame.querySelector("thead .is-now");
  const names = frame.querySelector("thead th");
  if (now && names) {
    frame.scrollLeft += now.getBoundingClientRect().left - names.getBoundingClientRect().right;
  }
}

document.addEventListener("htmx:beforeSwap", (event) => {
  const { target } = event.detail;
  const frame = frameIn(target);
  if (target?.id && frame) {
    held.set(target.id, { left: frame.scrollLeft, top: frame.scrollTop });
  }
});

document.addEventListener("htmx:afterSwap", () => {
  for (const [id, { left, top }] of held) {
    const frame = frameIn(document.getElementById(id));
    if (frame) {
      frame.scrollTo(left, top);
    }
  }
  held.clear();
});

document.querySelectorAll(".weeks-frame").forEach(showNow);
