import assert from "node:assert/strict";
import { test } from "node:test";
import { gapText, likely } from "../src/dropouts/words";
import type { Dropout } from "../src/types";

test("a gap is said in the unit that fits", () => {
  assert.equal(gapText(7.61), "7.6 s");
  assert.equal(gapText(720), "12 min");
  assert.equal(gapText(12_240), "3.4 h");
  assert.equal(gapText(null), "not back when this was told");
});

test("only causes that are worth a line are said, and that it may be none", () => {
  const causes = ["supply", "hang or heat", "radio", "sensor or ribbon"].map((title, n) => ({ cause: title, title, probability: [0.64, 0.3, 0.02, 0.01][n] ?? 0 }));
  const dropout = { causes, unexplained: 0.03 } as Dropout;
  assert.deepEqual(likely(dropout), ["supply 64 %", "hang or heat 30 %", "radio 2 %", "none of them 3 %"]);
});
