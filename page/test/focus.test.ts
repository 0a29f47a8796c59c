// The focus aid's numbers: the Laplacian's published vector, blur that lowers it, the best that stays.
import assert from "node:assert/strict";
import { test } from "node:test";
import { laplacianVariance, MIDDLE, moved, NO_READINGS, numberText, pixelsOf, readingsPerS, toGrey, withReading, type Grey } from "../src/focus/sharpness";

const grey = (width: number, height: number, at: (x: number, y: number) => number): Grey => ({
  width,
  height,
  values: Float32Array.from({ length: width * height }, (_, i) => at(i % width, Math.floor(i / width))),
});

test("a unit impulse in the middle of 5 × 5 has a variance of 20/9", () => {
  const impulse = grey(5, 5, (x, y) => (x === 2 && y === 2 ? 1 : 0));
  assert.ok(Math.abs(laplacianVariance(impulse) - 20 / 9) < 1e-6);
});

test("a plain surface and a slope have none, and too small a part has none", () => {
  assert.equal(laplacianVariance(grey(20, 20, () => 77)), 0);
  assert.ok(laplacianVariance(grey(20, 20, (x, y) => 3 * x + 2 * y)) < 1e-9);
  assert.equal(laplacianVariance(grey(2, 9, (x) => x)), 0);
});

test("the more an edge is blurred, the lower the number", () => {
  const edge = (sigma: number) => laplacianVariance(grey(64, 64, (x) => 128 + 100 * Math.tanh((x - 32.3) / sigma)));
  const values = [0.5, 1, 2, 4, 8].map(edge);
  assert.ok(values.every((v, i) => i === 0 || v < (values[i - 1] ?? 0)), values.join(" "));
});

test("luma is that of JPEG: red 0.299, green 0.587, blue 0.114", () => {
  const { values } = toGrey(new Uint8ClampedArray([255, 0, 0, 255, 0, 255, 0, 255, 0, 0, 255, 255, 255, 255, 255, 255]), 4, 1);
  assert.deepEqual([...values].map((v) => Math.round(v)), [76, 150, 29, 255]);
});

test("one disturbed picture is no best, and the best stays while the lens is turned on", () => {
  let readings = NO_READINGS;
  [10, 10, 900, 11, 40, 42, 41, 20, 19].forEach((value, i) => {
    readings = withReading(readings, value, 100 * i);
  });
  assert.equal(readings.best, 41);
  assert.equal(readings.last, 20);
  assert.equal(readings.count, 9);
});

test("the trace forgets what is older than it shows, and says how many readings a second there are", () => {
  let readings = NO_READINGS;
  for (let i = 0; i < 1000; i += 1) readings = withReading(readings, i, 100 * i);
  assert.ok(readings.trace.length <= 301);
  const rate = readingsPerS(readings.trace, 100 * 999);
  assert.ok(rate !== null && Math.abs(rate - 10) < 0.01);
  assert.equal(readingsPerS([], 0), null);
});

test("the part lies inside of the picture, whatever its size and place", () => {
  for (const [width, height] of [[640, 480], [480, 640], [96, 96], [2, 2]] as const) {
    for (const x of [0, 0.5, 1]) {
      const at = pixelsOf({ x, y: 1 - x, size: 0.5 }, Math.max(width, 3), Math.max(height, 3));
      assert.ok(at.x >= 0 && at.y >= 0 && at.x + at.side <= Math.max(width, 3) && at.y + at.side <= Math.max(height, 3));
    }
  }
  assert.deepEqual(moved(MIDDLE, 2, -2), { ...MIDDLE, x: 1, y: 0 });
});

test("numbers have three digits", () => {
  assert.deepEqual([9.5312, 12.34, 128.4, 2310].map(numberText), ["9.53", "12.3", "128", "2310"]);
});
