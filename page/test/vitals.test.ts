// What is said of a span of vitals in a line.
import assert from "node:assert/strict";
import { test } from "node:test";
import { DRAWN, liveText, median, readSeries, sayIn, secondsText } from "../src/vitals/series";

const answer = (values: (number | null)[]) => ({
  from: "2026-03-01T12:00:00Z",
  step_s: 60,
  live: values.map((v) => (v === null ? null : 1)),
  frames_per_s: values,
  bytes_a_frame: values,
  longest_gap_s: values,
  jitter_s: values,
  broken: values,
  connects: values,
  dropouts: values,
  light: values,
});
const drawn = (column: string) => {
  const found = DRAWN.find((one) => one.column === column);
  assert.ok(found);
  return found;
};

test("times are the beginnings of the steps", () => {
  const series = readSeries(answer([10, 9]));
  assert.deepEqual(series.times, [1772366400, 1772366460]);
});

test("a rate says its median and its least, a gap its most, a count its sum", () => {
  const series = readSeries(answer([10, null, 4, 9]));
  assert.equal(sayIn(series, drawn("frames_per_s")).replaceAll("\u00a0", " "), "median 9.0 frames/s, least 4.0 frames/s");
  assert.equal(sayIn(series, drawn("longest_gap_s")).replaceAll("\u00a0", " "), "median 9.0 s, most 10 s");
  assert.equal(sayIn(series, drawn("broken")), "23 in all, at most 10 in a minute");
  assert.equal(sayIn(readSeries(answer([0, 0])), drawn("dropouts")), "none");
});

test("what was not measured is said, and is no zero", () => {
  assert.equal(sayIn(readSeries(answer([null, null])), drawn("frames_per_s")), "not measured");
  assert.match(liveText(readSeries(answer([null]))), /Nothing was measured/);
  assert.match(liveText(readSeries(answer([1, null]))), /^Live 100.% of 1.min; 1.min of the span were not measured\.$/);
});

test("the middle of an even number of values lies between two", () => {
  assert.equal(median([1, 9, 3, 5]), 4);
  assert.equal(median([]), null);
});

test("seconds are told in the unit that fits", () => {
  assert.equal(secondsText(0.0082).replace("\u00a0", " "), "8.2 ms");
  assert.equal(secondsText(0.15).replace("\u00a0", " "), "150 ms");
  assert.equal(secondsText(2.53).replace("\u00a0", " "), "2.5 s");
  assert.equal(secondsText(240).replace("\u00a0", " "), "4.0 min");
});
