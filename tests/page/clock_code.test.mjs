// The reader of the drawn clock against a picture that is made here from the layout's own words.
import assert from "node:assert/strict";
import { test } from "node:test";
import { readClock } from "./support/clock_code.mjs";

// Cells of the code for a time: 1 0 1 0, 44 bits, CRC-8 worked out bit by bit by long division.
function cellsOf(time) {
  const bits = time.toString(2).padStart(48, "0");
  let rest = `${bits}00000000`.split("").map(Number);
  for (let i = 0; i < 48; i += 1) {
    if (rest[i]) [1, 0, 0, 0, 0, 0, 1, 1, 1].forEach((bit, k) => (rest[i + k] ^= bit));
  }
  return [1, 0, 1, 0, ...bits.slice(4).split("").map(Number), ...rest.slice(48)];
}

function lumaOf(cells, width, height) {
  const u = width / 80;
  return (x, y) => {
    const column = Math.floor((x + 0.5) / u) - 50;
    const row = Math.floor((y + 0.5 - (height - 3 * u)) / u);
    if (column < 0 || column > 27 || row < 0 || row > 1) return 120;
    return cells[row * 28 + column] ? 216 : 28;
  };
}

const TIME = Date.parse("2026-03-01T12:34:56.789Z");

for (const [width, height] of [[640, 480], [320, 240], [800, 600], [1280, 960]]) {
  test(`the clock is read at ${width} × ${height}`, () => {
    assert.equal(readClock(lumaOf(cellsOf(TIME), width, height), width, height), TIME);
  });
}

test("a wrong bit, a blank picture and a dim one are no clock", () => {
  const cells = cellsOf(TIME);
  cells[20] ^= 1;
  assert.equal(readClock(lumaOf(cells, 640, 480), 640, 480), null);
  assert.equal(readClock(() => 120, 640, 480), null);
  const right = lumaOf(cellsOf(TIME), 640, 480);
  assert.equal(readClock((x, y) => 100 + right(x, y) / 20, 640, 480), null);
});
