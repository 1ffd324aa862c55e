/* What was typed into a check and is kept on the tablet until it is signed. A PIN is never kept. */

const NEVER_KEPT = new Set(["pin", "csrfmiddlewaretoken", "once", "verdict"]);

/* What to keep of the form's entries, as text; `mark` says which signing it belongs to. */
export function kept(entries, mark, at) {
  return JSON.stringify({ mark, at, fields: entries.filter(([name]) => !NEVER_KEPT.has(name)) });
}

/* What was kept for this signing, or null: nothing, something unreadable, or of a signing that is over. */
export function stillOf(text, mark) {
  try {
    const found = JSON.parse(text);
    return found && found.mark === mark && Array.isArray(found.fields) ? found : null;
  } catch {
    return null;
  }
}
