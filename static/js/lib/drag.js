/* The arithmetic of moving work by hand, without the page. */

const LIFT_AFTER_PX = 6;

export function hasMovedEnough(from, to) {
  return Math.hypot(to.x - from.x, to.y - from.y) >= LIFT_AFTER_PX;
}

/* dataset {dragTask: "7", dragVersion: "2"} gives {task: "7", version: "2"} for the prefix "drag". */
export function fieldsFrom(dataset, prefix) {
  const fields = {};
  for (const [key, value] of Object.entries(dataset)) {
    if (key.startsWith(prefix) && /^[A-Z]/.test(key.slice(prefix.length))) {
      const name = key.slice(prefix.length);
      fields[name[0].toLowerCase() + name.slice(1)] = value;
    }
  }
  return fields;
}

/* Work stays in its own van: where both sides name one, they must agree. */
export function mayDrop(lifted, place) {
  return lifted.van === undefined || place.van === undefined || lifted.van === place.van;
}

/* How far to scroll a frame when the pointer nears its edge: up to 14 px a step. */
export function edgeScroll(position, start, end, reach = 48) {
  if (position < start + reach) {
    return -Math.ceil((14 * Math.min(reach, start + reach - position)) / reach);
  }
  if (position > end - reach) {
    return Math.ceil((14 * Math.min(reach, position - (end - reach))) / reach);
  }
  return 0;
}
