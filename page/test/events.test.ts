import assert from "node:assert/strict";
import { test } from "node:test";
import { ALL_EVENTS, askOn, daySpan, merged, queryOf, spanOfEvent } from "../src/events/query";
import { marksAt, readMarks } from "../src/strip/data";
import type { EventInfo } from "../src/types";
import { causeText, shareText } from "../src/words";

const event = (id: number, start: string, more: Partial<EventInfo> = {}): EventInfo => ({
  id,
  camera: "anvil",
  cause: "motion",
  start,
  end: start,
  peak: 0.1,
  region: { x: 0, y: 0, w: 1, h: 1 },
  where: "centre",
  best_at: start,
  kept: false,
  still: true,
  detail: "",
  job: null,
  ...more,
});

test("what is filtered stands in the query, what is not does not", () => {
  assert.equal(queryOf(ALL_EVENTS, null), "/api/v1/events?limit=50");
  const path = queryOf({ camera: "back-door", cause: "view", leastPercent: "2.5", day: "", kept: true }, "5-7", 10);
  assert.equal(path, "/api/v1/events?camera=back-door&cause=view&least_peak=0.025&kept=true&before=5-7&limit=10");
  for (const wrong of ["", "0", "-3", "200", "x"]) assert.equal(queryOf({ ...ALL_EVENTS, leastPercent: wrong }, null), "/api/v1/events?limit=50");
});

test("a day is from midnight to midnight where the person is", () => {
  const span = daySpan("2026-03-01");
  assert.ok(span);
  assert.equal(new Date(span.from).getHours(), 0);
  assert.equal(new Date(span.to).getHours(), 0);
  assert.equal(new Date(span.to).getDate(), 2);
  assert.equal(daySpan(""), null);
  assert.equal(daySpan("2026-02-31"), null);
});

test("what came since is put in its place, and what is known is brought up to date", () => {
  const a = event(1, "2026-03-01T12:00:00Z");
  const b = event(2, "2026-03-01T12:00:05Z", { end: null });
  const c = event(3, "2026-03-01T12:00:05Z");
  const all = merged([b, a], [c, { ...b, end: "2026-03-01T12:00:09Z" }]);
  assert.deepEqual(all.map((one) => one.id), [3, 2, 1]);
  assert.equal(all[1]?.end, "2026-03-01T12:00:09Z");
});

test("an answer without events is asked on until there are some, or no more", async () => {
  const asked: string[] = [];
  const answers = [
    { events: [], next: "a" },
    { events: [], next: "b" },
    { events: [event(1, "2026-03-01T12:00:00Z")], next: null },
  ];
  const answer = await askOn(async (path) => (asked.push(path), answers[asked.length - 1] ?? { events: [], next: null }), ALL_EVENTS, null);
  assert.equal(answer.events.length, 1);
  assert.equal(answer.next, null);
  assert.ok(asked[2]?.includes("before=b"));
  const endless = await askOn(async () => ({ events: [], next: "on" }), ALL_EVENTS, null, 3);
  assert.equal(endless.next, "on");
});

test("an event's span has the camera's rolls; one that goes on has none", () => {
  const rolls = { pre_roll_ms: 5000, post_roll_ms: 10_000 };
  const start = Date.parse("2026-03-01T12:00:00Z");
  assert.deepEqual(spanOfEvent(event(1, "2026-03-01T12:00:00Z", { end: "2026-03-01T12:00:04Z" }), rolls), { from: start - 5000, to: start + 14_000 });
  assert.equal(spanOfEvent(event(1, "2026-03-01T12:00:00Z", { end: null }), rolls), null);
});

test("a strip finds the events under the finger", () => {
  const marks = readMarks([event(2, "2026-03-01T12:01:00Z", { end: null }), event(1, "2026-03-01T12:00:00Z", { end: "2026-03-01T12:00:10Z" })]);
  const at = (text: string): number => Date.parse(text);
  assert.equal(marksAt(marks, at("2026-03-01T12:00:05Z"), 0).length, 1);
  assert.equal(marksAt(marks, at("2026-03-01T12:00:12Z"), 1000).length, 0);
  assert.equal(marksAt(marks, at("2026-03-01T12:00:12Z"), 3000).length, 1);
  assert.equal(marksAt(marks, at("2026-03-01T13:00:00Z"), 0).length, 1);
});

test("causes and shares are told in words", () => {
  assert.equal(causeText("view"), "view changed or covered");
  assert.deepEqual([0, 0.0004, 0.004, 0.5].map((one) => shareText(one).replace(/\u00a0/g, " ")), ["0.0 %", "less than 0.1 %", "0.4 %", "50 %"]);
});
