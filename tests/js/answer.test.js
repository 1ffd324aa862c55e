import assert from "node:assert/strict";
import { test } from "node:test";

import { handlingOf, isLooseRefusal, isWholePage, wordsFor } from "../../static/js/lib/answer.js";

test("a fragment is swapped in, also when it says no", () => {
  assert.deepEqual(handlingOf(200, "<p>kept</p>"), { kind: "swap" });
  assert.deepEqual(handlingOf(422, "<form>look again</form>"), { kind: "swap" });
  assert.deepEqual(handlingOf(409, "<form>changed</form>"), { kind: "swap" });
});

test("a whole page never lands inside another one", () => {
  assert.ok(isWholePage("  <!DOCTYPE html><html></html>"));
  assert.deepEqual(handlingOf(200, "<!doctype html>"), { kind: "reload" });
  assert.equal(handlingOf(500, "<!doctype html>").kind, "say");
});

test("a refusal that nobody placed goes to the messages", () => {
  assert.ok(isLooseRefusal('<div id="refused">No.</div>'));
  assert.deepEqual(handlingOf(422, '<div class="notice" id="refused">No.</div>'), { kind: "messages" });
});

test("no answer at all has words of its own", () => {
  assert.match(wordsFor(0), /Nothing was changed/);
  assert.notEqual(wordsFor(503), wordsFor(404));
});
