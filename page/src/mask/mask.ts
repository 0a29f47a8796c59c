// The mask: a grid over the picture, true where motion is ignored. As text it is what the station stores (docs/api.md): its size in
// cells, the size of the picture it was painted on, and the runs of cells in turn looked at and ignored. Pure.

export interface Mask {
  columns: number;
  rows: number;
  width_px: number;
  height_px: number;
  ignored: Uint8Array; // row by row, 1 where motion is ignored
}

const CELL_PX = 8;
const MOST_SIDE = 512;

// One cell for each block of 8×8 pixels, as the station looks at the picture.
export function emptyMask(width_px: number, height_px: number): Mask {
  const columns = Math.min(MOST_SIDE, Math.max(1, Math.ceil(width_px / CELL_PX)));
  const rows = Math.min(MOST_SIDE, Math.max(1, Math.ceil(height_px / CELL_PX)));
  return { columns, rows, width_px, height_px, ignored: new Uint8Array(columns * rows) };
}

export function readMask(text: string): Mask | null {
  const m = /^(\d+)x(\d+)@(\d+)x(\d+):(\d+(?:,\d+)*)$/.exec(text);
  if (!m) return null;
  const [columns = 0, rows = 0, width_px = 0, height_px = 0] = m.slice(1, 5).map(Number);
  if (columns < 1 || rows < 1 || columns > MOST_SIDE || rows > MOST_SIDE) return null;
  const ignored = new Uint8Array(columns * rows);
  let at = 0;
  let now = 0;
  for (const run of (m[5] ?? "").split(",").map(Number)) {
    if (!Number.isInteger(run) || at + run > ignored.length) return null;
    ignored.fill(now, at, at + run);
    at += run;
    now = 1 - now;
  }
  return at === ignored.length ? { columns, rows, width_px, height_px, ignored } : null;
}

export function maskText(mask: Mask): string {
  const runs: number[] = [];
  let now = 0;
  let run = 0;
  for (const cell of mask.ignored) {
    if (cell !== now) {
      runs.push(run);
      run = 0;
      now = cell;
    }
    run += 1;
  }
  runs.push(run);
  return `${mask.columns}x${mask.rows}@${mask.width_px}x${mask.height_px}:${runs.join(",")}`;
}

// The same shares of a picture of another size.
export function fitted(mask: Mask, width_px: number, height_px: number): Mask {
  if (mask.width_px === width_px && mask.height_px === height_px) return mask;
  const made = emptyMask(width_px, height_px);
  for (let row = 0; row < made.rows; row += 1) {
    const from = Math.floor(((2 * row + 1) * mask.rows) / (2 * made.rows)) * mask.columns;
    for (let column = 0; column < made.columns; column += 1) {
      const place = Math.floor(((2 * column + 1) * mask.columns) / (2 * made.columns));
      made.ignored[row * made.columns + column] = mask.ignored[from + place] ?? 0;
    }
  }
  return made;
}

export function shareIgnored(mask: Mask): number {
  let sum = 0;
  for (const cell of mask.ignored) sum += cell;
  return sum / mask.ignored.length;
}

export interface Cell {
  column: number;
  row: number;
}

// Covers, or lets free, the disc of `size` cells across around each cell on the way from `from` to `to`: a brush that is
// moved quickly leaves no gaps. Returns a new mask.
export function painted(mask: Mask, from: Cell, to: Cell, size: number, ignore: boolean): Mask {
  const ignored = mask.ignored.slice();
  const steps = Math.max(1, Math.ceil(Math.max(Math.abs(to.column - from.column), Math.abs(to.row - from.row))));
  const reach = size / 2;
  for (let step = 0; step <= steps; step += 1) {
    const x = from.column + ((to.column - from.column) * step) / steps;
    const y = from.row + ((to.row - from.row) * step) / steps;
    for (let row = Math.max(0, Math.floor(y - reach)); row <= Math.min(mask.rows - 1, Math.ceil(y + reach)); row += 1) {
      for (let column = Math.max(0, Math.floor(x - reach)); column <= Math.min(mask.columns - 1, Math.ceil(x + reach)); column += 1) {
        if ((column - x) ** 2 + (row - y) ** 2 <= reach ** 2) ignored[row * mask.columns + column] = ignore ? 1 : 0;
      }
    }
  }
  return { ...mask, ignored };
}
