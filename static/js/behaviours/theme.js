/* Light, dark, or as the device says: kept in a cookie, so that the server draws the next page right at once. */
import { cookieFor, lookAfter, lookFrom, lookInWords } from "../lib/theme.js";
import { say } from "./say.js";

function wear(look) {
  if (look === "device") {
    delete document.documentElement.dataset.theme;
  } else {
    document.documentElement.dataset.theme = look;
  }
}

function label(button, look) {
  button.textContent = `Look: ${lookInWords(look)}`;
  button.hidden = false;
}

export function switchTheme() {
  for (const button of document.querySelectorAll("[data-theme-switch]")) {
    label(button, lookFrom(document.cookie));
    button.addEventListener("click", () => {
      const look = lookAfter(lookFrom(document.cookie));
      document.cookie = cookieFor(look);
      wear(look);
      label(button, look);
      say(`Look: ${lookInWords(look)}`);
    });
  }
}
