/* What is read out after a swap: the detail of a "say" event, as htmx hands it on. */

export function wordsOf(detail) {
  if (typeof detail === "string") {
    return detail;
  }
  const words = detail?.text ?? detail?.value;
  return typeof words === "string" ? words : "";
}
