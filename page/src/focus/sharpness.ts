// How sharp a part of a picture is: the variance of its Laplacian (Pech-Pacheco and others 2000). Relative to its own scene
// only: it says whether a turn of the lens made this picture better, never how good a lens is.

export interface Grey {
  width: number;
  height: number;
  values: Float32Array; // row by row, 0 black to 255 white
}

// Luma of RGBA bytes as JPEG defines it (JFIF: ITU-R BT.601, full range).
export function toGrey(data: Uint8ClampedArray, width: number, height: number): Grey {
  const values = new Float32Array(width * height);
  for (let i = 0, at = 0; i < values.length; i += 1, at += 4) {
    values[i] = 0.299 * (data[at] ?? 0) + 0.587 * (data[at + 1] ?? 0) + 0.114 * (data[at + 2] ?? 0);
  }
  return { width, height, values };
}

// Kernel 0 1 0 / 1 −4 1 / 0 1 0, where it lies wholly inside; 0 for less than 3 × 3 pixels.
export function laplacianVariance({ width, height, values }: Grey): number {
  const count = (width - 2) * (height - 2);
  if (width < 3 || height < 3) return 0;
  let sum = 0;
  let squares = 0;
  for (let y = 1; y < height - 1; y += 1) {
    for (let x = 1; x < width - 1; x += 1) {
      const i = y * width + x;
      const v = (values[i - width] ?? 0) + (values[i + width] ?? 0) + (values[i - 1] ?? 0) + (values[i + 1] ?? 0) - 4 * (values[i] ?? 0);
      sum += v;
      squares += v * v;
    }
  }
  return squares / count - (sum / count) ** 2;
}

// Readings of one part of one picture size, with the best so far.
export interface Readings {
  last: number | null; // median of the last three: a single picture with a disturbance is no best
  best: number | null;
  recent: number[];
  trace: { at: number; value: number }[]; // at: ms
  count: number;
}
export const NO_READINGS: Readings = { last: null, best: null, recent: [], trace: [], count: 0 };
export const TRACE_MS = 30_000;

export function withReading(old: Readings, value: number, at: number): Readings {
  const recent = [...old.recent, value].slice(-3);
  const count = old.count + 1;
  if (recent.length < 3) return { ...old, recent, count };
  const last = [...recent].sort((a, b) => a - b)[1] ?? value;
  const trace = [...old.trace.filter((one) => one.at > at - TRACE_MS), { at, value: last }];
  return { last, best: Math.max(old.best ?? 0, last), recent, trace, count };
}

// How many readings a second there are, from the trace's last five seconds; null for fewer than two.
export function readingsPerS(trace: { at: number }[], now: number): number | null {
  const recent = trace.filter((one) => one.at > now - 5000);
  const first = recent[0];
  const last = recent.at(-1);
  return first && last && last.at > first.at ? ((recent.length - 1) * 1000) / (last.at - first.at) : null;
}

// Three digits: "9.53", "128", "2310".
export function numberText(value: number): string {
  return value >= 99.95 ? value.toFixed(0) : value >= 9.995 ? value.toFixed(1) : value.toFixed(2);
}

// The part that is looked at, as shares of the picture.
export interface Part {
  x: number; // its centre
  y: number;
  size: number; // of the picture's width; it is square in pixels
}
export const MIDDLE: Part = { x: 0.5, y: 0.5, size: 0.25 };
export const SIZES = [0.1, 0.25, 0.5];

// In whole pixels, inside of the picture.
export function pixelsOf(part: Part, width: number, height: number): { x: number; y: number; side: number } {
  const side = Math.max(3, Math.min(Math.round(part.size * width), width, height));
  const at = (centre: number, length: number): number => Math.min(Math.max(Math.round(centre * length - side / 2), 0), length - side);
  return { x: at(part.x, width), y: at(part.y, height), side };
}

export function moved(part: Part, dx: number, dy: number): Part {
  const inside = (v: number): number => Math.min(1, Math.max(0, v));
  return { ...part, x: inside(part.x + dx), y: inside(part.y + dy) };
}
