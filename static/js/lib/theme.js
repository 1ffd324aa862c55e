/* Which look follows which, and how it is kept. "device" is what the device says; it keeps nothing. */

export const LOOKS = ["device", "light", "dark"];

const WORDS = { device: "as the device", light: "light", dark: "dark" };

export function lookFrom(cookies) {
  const found = /(?:^|;\s*)look=(light|dark)(?:;|$)/.exec(cookies);
  return found ? found[1] : "device";
}

export function lookAfter(look) {
  return LOOKS[(LOOKS.indexOf(look) + 1) % LOOKS.length];
}

export function lookInWords(look) {
  return WORDS[look] ?? WORDS.device;
}

export function cookieFor(look) {
  const age = look === "device" ? 0 : 31536000;
  return `look=${look}; path=/; max-age=${age}; samesite=lax`;
}
