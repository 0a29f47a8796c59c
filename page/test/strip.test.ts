import assert from "node:assert/strict";
import { test } from "node:test";
import { columnsOf, isCounted, isIn, readRecordings, readStrip, stepAt, withTail, type StripData } from "../src/strip/data";
import { fittingLength, holdsNow, moved, onDay, rulesFor, rulesOf, spanOf, withLength } from "../src/strip/view";
import { dayStart, HOUR, MINUTE, shiftDay } from "../src/time";

process.env.TZ = "Europe/Oslo";
const at = (text: string): number => Date.parse(text);
const base64 = (bytes: number[]): string => Buffer.from(bytes).toString("base64");
const strip = (from: number, energy: number[], health: number[]): StripData =>
  readStrip({ from: new Date(from).toISOString(), step_s: 10, energy: base64(energy), health: base64(health) });

test("a strip's answer is decoded to its steps", () => {
  const data = strip(1_000_000_000_000, [0, 128, 255], [1, 2, 3]);
  assert.equal(data.step, 10_000);
  assert.deepEqual(stepAt(data, data.from + 10_000), { energy: 128, health: 2 });
  assert.deepEqual(stepAt(data, data.from + 29_999), { energy: 255, health: 3 });
  assert.deepEqual(stepAt(data, data.from - 1), { energy: 0, health: 0 });
  assert.deepEqual(stepAt(data, data.from + 30_000), { energy: 0, health: 0 });
});

test("a tail replaces what it overlaps, and unseen steps between are not running", () => {
  const old = strip(0, [1, 2, 3], [1, 1, 1]);
  const near = withTail(old, strip(20_000, [9, 8], [2, 1]));
  assert.deepEqual([...near.energy], [1, 2, 9, 8]);
  assert.deepEqual([...near.health], [1, 1, 2, 1]);
  const far = withTail(old, strip(50_000, [7], [1]));
  assert.deepEqual([...far.health], [1, 1, 1, 0, 0, 1]);
  assert.equal(withTail(old, strip(20_000, [], [])), old);
});

test("a column shows the highest energy and the worst health in it", () => {
  const data = strip(0, [10, 200, 30, 0], [1, 1, 3, 0]);
  const columns = columnsOf(data, { from: 0, to: 40_000 }, 2);
  assert.deepEqual([...columns.peak], [200, 30]);
  assert.deepEqual([...columns.mean], [105, 30]);
  assert.deepEqual([...columns.health], [1, 3]);
});

test("columns finer than a step repeat it, and outside of the data nothing ran", () => {
  const data = strip(10_000, [50], [1]);
  const columns = columnsOf(data, { from: 0, to: 30_000 }, 6);
  assert.deepEqual([...columns.peak], [0, 0, 50, 50, 0, 0]);
  assert.deepEqual([...columns.health], [0, 0, 1, 1, 0, 0]);
});

test("recordings are ordered and broken spans left out", () => {
  const read = readRecordings({
    spans: [
      { from: "2026-03-01T12:00:00Z", to: "2026-03-01T13:00:00Z" },
      { from: "2026-03-01T10:00:00Z", to: "2026-03-01T11:00:00Z" },
      { from: "never", to: "2026-03-01T11:00:00Z" },
    ],
    kept: [],
    first: "2026-03-01T10:00:00Z",
    last: null,
  });
  assert.equal(read.spans.length, 2);
  assert.ok((read.spans[0]?.from ?? 0) < (read.spans[1]?.from ?? 0));
  assert.ok(isIn(read.spans, at("2026-03-01T12:30:00Z")));
  assert.ok(!isIn(read.spans, at("2026-03-01T11:30:00Z")));
});

const now = at("2026-03-10T14:32:10+01:00");

test("a day goes from midnight to midnight, a shorter length holds now in its last sixth", () => {
  const day = spanOf({ length: "day", start: null }, now);
  assert.deepEqual(day, { from: dayStart(now), to: shiftDay(now, 1) });
  const hour = spanOf({ length: "hour", start: null }, now);
  assert.equal(hour.to - hour.from, HOUR);
  assert.ok(now >= hour.to - 10 * MINUTE && now < hour.to);
});

test("earlier and later go back to the present in the end", () => {
  for (const length of ["day", "hours6", "hour", "minutes10"] as const) {
    const back = moved({ length, start: null }, -1, now);
    assert.ok(!holdsNow(back, now), length);
    assert.deepEqual(moved(back, 1, now), { length, start: null });
  }
});

test("another length keeps what the person looks at", () => {
  const focus = at("2026-03-04T09:20:00+01:00");
  for (const length of ["day", "hours6", "hour", "minutes10"] as const) {
    const span = spanOf(withLength({ length: "day", start: dayStart(focus) }, length, focus, now), now);
    assert.ok(focus >= span.from && focus < span.to, length);
  }
  assert.deepEqual(withLength({ length: "day", start: null }, "hour", null, now), { length: "hour", start: null });
});

test("a picked day keeps the time of day, and a day to come is today", () => {
  const on = spanOf(onDay({ length: "hour", start: null }, at("2026-03-02T00:00:00+01:00"), now), now);
  assert.equal(new Date(on.from).getDate(), 2);
  assert.equal(onDay({ length: "day", start: null }, shiftDay(now, 3), now).start, null);
});

test("the first look is as long as what there is to see", () => {
  assert.equal(fittingLength(now - 30_000, now), "minutes10");
  assert.equal(fittingLength(now - 20 * MINUTE, now), "hour");
  assert.equal(fittingLength(now - 3 * HOUR, now), "hours6");
  assert.equal(fittingLength(now - 9 * HOUR, now), "day");
  assert.equal(fittingLength(now - 400 * HOUR, now), "day");
  assert.equal(fittingLength(null, now), "day");
});

test("rulings stand at whole local hours, also on the day of a clock change", () => {
  const spring = spanOf({ length: "day", start: at("2026-03-29T00:00:00+01:00") }, now);
  const strong = rulesOf(spring).filter((rule) => rule.strong);
  for (const rule of strong) assert.equal(new Date(rule.at).getHours() % 3, 0);
  const day = rulesOf(spanOf({ length: "day", start: null }, now));
  assert.equal(day.length, 25);
  assert.equal(day.filter((rule) => rule.strong).length, 9);
  const minutes = rulesOf(spanOf({ length: "minutes10", start: null }, now)).filter((rule) => rule.strong);
  assert.ok(minutes.length >= 10 && minutes.every((rule) => rule.at % MINUTE === 0));
});

test("fine rules that would stand too close are left out", () => {
  const span = spanOf({ length: "minutes10", start: null }, Date.parse("2026-03-01T12:00:00Z"));
  assert.equal(rulesFor(span, 900).length, rulesOf(span).length);
  assert.deepEqual(rulesFor(span, 330), rulesOf(span).filter((rule) => rule.strong));
});

test("of the last seconds nothing is said until they are counted", () => {
  const data = strip(0, [5, 5, 0], [1, 1, 0]);
  assert.equal(isCounted(data, 15_000, 40_000), true);
  assert.equal(isCounted(data, 25_000, 40_000), false); // its step may still be written
  assert.equal(isCounted(data, 25_000, 90_000), true); // it was not running then
  assert.equal(isCounted(data, 35_000, 40_000), false);
  assert.equal(isCounted(null, 0, 90_000), false);
});
