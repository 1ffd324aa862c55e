/* A typed number made larger or smaller by a step, never under the least; what is no number begins at the least. */
export function stepped(typed, step, least) {
  const number = Number(String(typed).trim().replace(",", "."));
  const from = String(typed).trim() === "" || !Number.isFinite(number) ? least - Math.max(step, 0) : number;
  return String(Math.round(Math.max(least, from + step) * 100) / 100);
}
