import assert from "node:assert/strict";
import { test } from "node:test";
import { emptyMask, fitted, maskText, painted, readMask, shareIgnored, type Mask } from "../src/mask/mask";

// A small generator, so that a failure can be repeated.
function numbers(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 1_103_515_245 + 12_345) % 2_147_483_648;
    return state / 2_147_483_648;
  };
}

test("a mask's text is the station's: sizes, then runs in turn looked at and ignored", () => {
  const mask: Mask = { columns: 3, rows: 2, width_px: 24, height_px: 16, ignored: Uint8Array.from([0, 1, 1, 0, 0, 1]) };
  assert.equal(maskText(mask), "3x2@24x16:1,2,2,1");
  assert.equal(maskText({ ...mask, ignored: Uint8Array.from([1, 1, 1, 1, 1, 1]) }), "3x2@24x16:0,6");
  assert.equal(maskText(emptyMask(24, 16)), "3x2@24x16:6");
});

test("reading what was written gives the same mask, whatever it is", () => {
  const next = numbers(7);
  for (let i = 0; i < 200; i += 1) {
    const mask = emptyMask(1 + Math.floor(next() * 700), 1 + Math.floor(next() * 500));
    const density = next();
    mask.ignored.forEach((_, at) => (mask.ignored[at] = next() < density ? 1 : 0));
    assert.deepEqual(readMask(maskText(mask)), mask);
  }
});

test("what is no mask is none", () => {
  for (const text of ["", "3x2", "3x2@24x16:", "3x2@24x16:7", "3x2@24x16:5", "3x2@24x16:1,,5", "0x2@24x16:0", "600x2@24x16:1200", "3x2@24x16:x"]) {
    assert.equal(readMask(text), null, text);
  }
});

test("a picture of 640×480 has 80×60 cells, and one that is no multiple of 8 has one more", () => {
  assert.deepEqual([emptyMask(640, 480).columns, emptyMask(640, 480).rows], [80, 60]);
  assert.deepEqual([emptyMask(641, 479).columns, emptyMask(641, 479).rows], [81, 60]);
});

test("on a picture of another size a mask covers the same share", () => {
  const half = painted(emptyMask(640, 480), { column: -60, row: 30 }, { column: -60, row: 30 }, 1, true);
  half.ignored.forEach((_, at) => (half.ignored[at] = at % 80 < 40 ? 1 : 0));
  for (const [width, height] of [[320, 240], [1600, 1200], [800, 600]] as const) {
    assert.ok(Math.abs(shareIgnored(fitted(half, width, height)) - 0.5) < 0.01, `${width}`);
  }
  assert.equal(fitted(half, 640, 480), half);
});

test("a brush that is moved quickly leaves no gaps, and stays inside", () => {
  const line = painted(emptyMask(640, 480), { column: 2, row: 30 }, { column: 90, row: 30 }, 3, true);
  for (let column = 2; column < 80; column += 1) assert.equal(line.ignored[30 * 80 + column], 1, `${column}`);
  const gone = painted(line, { column: 0, row: 30 }, { column: 79, row: 30 }, 20, false);
  assert.equal(shareIgnored(gone), 0);
});

test("a larger brush covers more, and painting does not change the mask it began with", () => {
  const blank = emptyMask(640, 480);
  const at = { column: 40, row: 30 };
  const covered = [1, 2, 5, 10, 20].map((size) => shareIgnored(painted(blank, at, at, size, true)) * 4800);
  assert.ok(covered.every((cells, i) => i === 0 || cells > (covered[i - 1] ?? 0)), covered.join(" "));
  assert.equal(covered[0], 1);
  assert.equal(shareIgnored(blank), 0);
});
