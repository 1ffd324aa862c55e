import assert from "node:assert/strict";
import test from "node:test";
import { kept, stillOf } from "../../static/js/lib/readings.js";

const TYPED = [
  ["csrfmiddlewaretoken", "x"],
  ["once", "y"],
  ["reading-bar", "1.6"],
  ["pin", "2468"],
  ["note", "cold gauge"],
];

test("readings are kept, the PIN and the form's own marks never", () => {
  const text = kept(TYPED, "due-0", 5);

  assert.ok(!text.includes("2468"));
  assert.deepEqual(stillOf(text, "due-0"), {
    mark: "due-0",
    at: 5,
    fields: [
      ["reading-bar", "1.6"],
      ["note", "cold gauge"],
    ],
  });
});

test("what belongs to an earlier signing, or can't be read, counts for nothing", () => {
  assert.equal(stillOf(kept(TYPED, "due-0", 5), "failed-1"), null);
  for (const text of [null, "", "{", "null", '{"mark":"due-0"}']) {
    assert.equal(stillOf(text, "due-0"), null);
  }
});
