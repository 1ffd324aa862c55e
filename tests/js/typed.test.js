import assert from "node:assert/strict";
import test from "node:test";
import { isChanged } from "../../static/js/lib/typed.js";

test("a field that holds something else than it came with is changed", () => {
  assert.equal(isChanged({ type: "text", value: "3.5", defaultValue: "3" }), true);
  assert.equal(isChanged({ type: "text", value: "3", defaultValue: "3" }), false);
  assert.equal(isChanged({ type: "textarea", value: "", defaultValue: "typed before" }), true);
});

test("a hidden field is the shop's own, whatever it holds", () => {
  assert.equal(isChanged({ type: "hidden", value: "b", defaultValue: "a" }), false);
});

test("a box counts by its tick, a file field by its files", () => {
  assert.equal(isChanged({ type: "checkbox", checked: true, defaultChecked: false }), true);
  assert.equal(isChanged({ type: "radio", checked: true, defaultChecked: true }), false);
  assert.equal(isChanged({ type: "file", files: [{}] }), true);
  assert.equal(isChanged({ type: "file", files: [] }), false);
});

test("a list counts by what is chosen, its first line being the usual one where none is named", () => {
  const list = (chosen, usual) => ({
    type: "select-one",
    selectedIndex: chosen,
    options: [0, 1, 2].map((n) => ({ selected: n === chosen, defaultSelected: n === usual })),
  });
  assert.equal(isChanged(list(0, -1)), false);
  assert.equal(isChanged(list(2, -1)), true);
  assert.equal(isChanged(list(2, 2)), false);
  assert.equal(isChanged(list(0, 2)), true);
});
