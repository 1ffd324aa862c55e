import assert from "node:assert/strict";
import { test } from "node:test";

import { eventsIn, nextDelay } from "../../static/js/lib/poll.js";
import { wordsOf } from "../../static/js/lib/said.js";
import { cookieFor, lookAfter, lookFrom } from "../../static/js/lib/theme.js";
import { hasChanged, printOf } from "../../static/js/lib/unsaved.js";

test("asking again slows down with every failure, up to a minute", () => {
  assert.equal(nextDelay(4, 0), 4000);
  assert.equal(nextDelay(4, 2), 16000);
  assert.equal(nextDelay(4, 50), 60000);
  assert.equal(nextDelay("nonsense", 0), 5000);
});

test("events of an answer come as names or with details", () => {
  assert.deepEqual(eventsIn(null), []);
  assert.deepEqual(eventsIn("plan-changed, other"), [
    { name: "plan-changed", detail: null },
    { name: "other", detail: null },
  ]);
  assert.deepEqual(eventsIn('{"say": "Moved"}'), [{ name: "say", detail: "Moved" }]);
});

test("what is read out is a string or nothing", () => {
  assert.equal(wordsOf("Done"), "Done");
  assert.equal(wordsOf({ value: "Done" }), "Done");
  assert.equal(wordsOf({ value: 3 }), "");
  assert.equal(wordsOf(null), "");
});

test("the look goes round and is kept in a cookie only when it differs from the device's", () => {
  assert.equal(lookFrom("a=1; look=dark"), "dark");
  assert.equal(lookFrom("outlook=dark"), "device");
  assert.equal(lookAfter(lookAfter(lookAfter("device"))), "device");
  assert.match(cookieFor("device"), /max-age=0/);
});

test("a form is unsaved only when something typed differs", () => {
  const before = printOf([["csrfmiddlewaretoken", "x"], ["name", "Heron"]]);

  assert.equal(hasChanged(before, [["csrfmiddlewaretoken", "y"], ["name", "Heron"]]), false);
  assert.equal(hasChanged(before, [["name", "Teal"]]), true);
});
