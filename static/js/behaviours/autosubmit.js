/* Sends a form as soon as something in it changes; its button stays for those without this file. */

export function submitOnChange() {
  document.addEventListener("change", (event) => {
    event.target.closest("form[data-autosubmit]")?.requestSubmit();
  });
}
