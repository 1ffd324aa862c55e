/* Is a form still as it was? Entries are [name, value] pairs in their order; files count by name and size. */

export function printOf(entries) {
  return JSON.stringify(
    entries
      .filter(([name]) => name !== "csrfmiddlewaretoken")
      .map(([name, value]) => [name, typeof value === "string" ? value : `${value.name}/${value.size}`]),
  );
}

export function hasChanged(before, entries) {
  return before !== printOf(entries);
}
