/*
 * Seals a PIN with the shop's public key, so that it can wait on the tablet and nobody reads it there. The seal is
 * bound to one form and its number. builds/actions/sealed_pins.py opens it and says what it is made of.
 */

const CURVE = { name: "ECDH", namedCurve: "P-256" };
const LABEL = "benchweek sealed pin";

const bytesOf = (base64) => Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
const base64Of = (bytes) => btoa(String.fromCharCode(...bytes));

function joined(...parts) {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

/* Without https there is no such thing in the browser, and no work without network either. */
export const canSeal = () => Boolean(globalThis.crypto?.subtle);

/* `shopKey` is an uncompressed P-256 point in base64; gives own point, nonce and sealed text, in base64. */
export async function seal(pin, shopKey, boundTo) {
  const { subtle } = crypto;
  const text = new TextEncoder();
  const theirs = await subtle.importKey("raw", bytesOf(shopKey), CURVE, false, []);
  const own = await subtle.generateKey(CURVE, false, ["deriveBits"]);
  const point = new Uint8Array(await subtle.exportKey("raw", own.publicKey));
  const shared = await subtle.deriveBits({ name: "ECDH", public: theirs }, own.privateKey, 256);
  const secret = await subtle.importKey("raw", shared, "HKDF", false, ["deriveKey"]);
  const info = joined(text.encode(LABEL), point);
  const derived = { name: "HKDF", hash: "SHA-256", salt: new Uint8Array(32), info };
  const key = await subtle.deriveKey(derived, secret, { name: "AES-GCM", length: 256 }, false, ["encrypt"]);
  const nonce = crypto.getRandomValues(new Uint8Array(12));
  const how = { name: "AES-GCM", iv: nonce, additionalData: text.encode(boundTo) };
  const sealed = new Uint8Array(await subtle.encrypt(how, key, text.encode(pin)));
  return base64Of(joined(point, nonce, sealed));
}
