import assert from "node:assert/strict";
import test from "node:test";
import { stepped } from "../../static/js/lib/step.js";

test("a tap makes the hours half an hour more or less", () => {
  assert.equal(stepped("4", 0.5, 0.25), "4.5");
  assert.equal(stepped("4", -0.5, 0.25), "3.5");
  assert.equal(stepped("2,75", 0.5, 0.25), "3.25");
});

test("hours never go under the least", () => {
  assert.equal(stepped("0.5", -0.5, 0.25), "0.25");
});

test("what is no number begins at the least", () => {
  for (const typed of ["", "  ", "four", "NaN"]) {
    assert.equal(stepped(typed, 0.5, 0.25), "0.25");
    assert.equal(stepped(typed, -0.5, 0.25), "0.25");
  }
});
