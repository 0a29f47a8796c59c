// Which causes of a dropout get a line.
import assert from "node:assert/strict";
import { test } from "node:test";
import { causeShares } from "../src/dropouts/shares";

const cause = (title: string, probability: number) => ({ cause: "radio" as const, title, probability });

test("the likeliest come first, three at most, and none of hardly any weight", () => {
  const shares = causeShares({ causes: [cause("radio", 0.62), cause("supply", 0.2), cause("hang or heat", 0.1), cause("sensor", 0.01)], unexplained: 0.07 });
  assert.deepEqual(shares.map(({ title }) => title), ["radio", "supply", "hang or heat"]);
});

test("that it is none of them is said as well", () => {
  const shares = causeShares({ causes: [cause("radio", 0.1)], unexplained: 0.9 });
  assert.deepEqual(shares.map(({ title }) => title), ["none of these", "radio"]);
});
