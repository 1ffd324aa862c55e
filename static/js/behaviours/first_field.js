/*
 * A tap on "Note", "Snag", "Photo" or "Serial number" goes straight to what it is for: the keyboard is up, or the camera, without
 * another tap. Where there is something to choose first, or without this file, it only opens.
 */

function goalOf(fold) {
  const first = fold.querySelector("form :is(input:not([type=hidden]), textarea, select, button)");
  return first?.matches("textarea, input[type=file], [data-first]") ? first : null;
}

export function goToFirstField() {
  document.addEventListener("click", (event) => {
    const fold = event.target.closest?.(".floor-more > summary")?.parentElement;
    const goal = fold && !fold.open ? goalOf(fold) : null;
    if (!goal) {
      return;
    }
    event.preventDefault();
    fold.open = true;
    goal.focus();
    if (goal.type === "file") {
      goal.click();
    }
  });
}
