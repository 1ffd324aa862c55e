/* Whether somebody changed a field since the page came: what it holds is then theirs, and no longer the shop's. */
export function isChanged(field) {
  if (field.type === "hidden") {
    return false;
  }
  if (field.type === "file") {
    return field.files.length > 0;
  }
  if (field.type === "checkbox" || field.type === "radio") {
    return field.checked !== field.defaultChecked;
  }
  if (field.options) {
    const options = [...field.options];
    const usual = options.some((option) => option.defaultSelected);
    return usual ? options.some((option) => option.selected !== option.defaultSelected) : field.selectedIndex > 0;
  }
  return field.value !== field.defaultValue;
}
