import assert from "node:assert/strict";
import { test } from "node:test";

import { edgeScroll, fieldsFrom, hasMovedEnough, mayDrop } from "../../static/js/lib/drag.js";

test("a hand that trembles lifts nothing", () => {
  assert.equal(hasMovedEnough({ x: 10, y: 10 }, { x: 13, y: 14 }), false);
  assert.equal(hasMovedEnough({ x: 10, y: 10 }, { x: 10, y: 16 }), true);
});

test("fields are read from what was lifted and where it is put", () => {
  assert.deepEqual(fieldsFrom({ dragTask: "7", dragVersion: "2", label: "Fit", dragon: "no" }, "drag"), {
    task: "7",
    version: "2",
  });
});

test("work stays in its own van", () => {
  assert.equal(mayDrop({ van: "1" }, { van: "2" }), false);
  assert.equal(mayDrop({ van: "1" }, { van: "1" }), true);
  assert.equal(mayDrop({ van: "1" }, {}), true);
});

test("a frame scrolls faster the nearer the pointer is to its edge", () => {
  assert.equal(edgeScroll(500, 0, 1000), 0);
  assert.ok(edgeScroll(5, 0, 1000) < edgeScroll(40, 0, 1000));
  assert.ok(edgeScroll(998, 0, 1000) > edgeScroll(960, 0, 1000));
});
