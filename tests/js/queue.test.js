import assert from "node:assert/strict";
import { test } from "node:test";

import {
  afterStumble,
  freshNumber,
  meaningOf,
  nextToSend,
  onceMore,
  secondsUntilNext,
  wordsOfState,
} from "../../static/js/lib/queue.js";

test("the oldest that waits is sent next, whatever needs somebody is passed over", () => {
  const entries = [
    { number: 3, state: "waits" },
    { number: 1, state: "needs you" },
    { number: 2, state: "waits" },
  ];

  assert.equal(nextToSend(entries).number, 2);
  assert.equal(nextToSend([entries[1]]), null);
});

test("only an answer in words of the shop takes an entry off the queue", () => {
  assert.equal(meaningOf(200, { outcome: "kept", words: "Done" }).what, "done");
  assert.equal(meaningOf(200, { outcome: "to settle", words: "" }).what, "done");
  assert.equal(meaningOf(200, null).what, "later");
  assert.deepEqual(meaningOf(200, { outcome: "refused", words: "Not dry" }), { what: "needs you", words: "Not dry" });
});

test("a shut-out tablet stops, trouble on the way waits, unknown work needs somebody", () => {
  assert.equal(meaningOf(401, null).what, "pair");
  for (const status of [0, 403, 429, 502, 503]) {
    assert.equal(meaningOf(status, null).what, "later");
  }
  assert.equal(meaningOf(404, null).what, "needs you");
});

test("what the shop fails at waits a few times, then steps aside, and may go again", () => {
  assert.equal(meaningOf(500, null).what, "stumble");
  let entry = { number: 4, state: "waits", path: "/floor/1/" };
  for (let tries = 1; tries < 5; tries += 1) {
    entry = afterStumble(entry);
    assert.deepEqual([entry.state, entry.stumbles], ["waits", tries]);
  }

  const aside = afterStumble(entry);

  assert.deepEqual([aside.state, aside.mayGoAgain, aside.path], ["needs you", true, "/floor/1/"]);
  assert.match(aside.answer, /still kept here/);
  assert.deepEqual([onceMore(aside).state, afterStumble(onceMore(aside)).state], ["waits", "waits"]);
});

test("the state is said plainly", () => {
  assert.equal(wordsOfState([], false), "All sent");
  assert.equal(wordsOfState([{ state: "waits" }, { state: "needs you" }], false), "1 waiting to be sent, 1 needs you");
  assert.equal(wordsOfState([], true), "All sent. This tablet is not paired: ask the owner");
});

test("tries come slower with every failure, a minute apart at most", () => {
  assert.deepEqual([0, 1, 9].map(secondsUntilNext), [5, 10, 60]);
});

test("every number is a UUID of its own", () => {
  const numbers = new Set(Array.from({ length: 1000 }, freshNumber));

  assert.equal(numbers.size, 1000);
  for (const number of numbers) {
    assert.match(number, /^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  }
});
