/* <button type="button" data-step="0.5" data-step-of="hours-12" data-step-least="0.25">: changes that field by a tap. */
import { stepped } from "../lib/step.js";
import { say } from "./say.js";

export function stepNumbers() {
  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("button[data-step]");
    const field = button && document.getElementById(button.dataset.stepOf);
    if (!field) {
      return;
    }
    field.value = stepped(field.value, Number(button.dataset.step), Number(button.dataset.stepLeast ?? 0));
    field.dispatchEvent(new Event("input", { bubbles: true }));
    say(field.value);
  });
}
