// The map of what grew in a job.
import type { Growth } from "./types";

// One byte a cell; null where the answer does not fit together.
export function cellsOf(growth: Growth): Uint8Array | null {
  let bytes: string;
  try {
    bytes = atob(growth.cells);
  } catch {
    return null;
  }
  if (growth.width < 1 || bytes.length !== growth.width * growth.height) return null;
  return Uint8Array.from(bytes, (one) => one.charCodeAt(0));
}

export const anyGrowth = (growth: Growth): boolean => (cellsOf(growth) ?? []).some((cell) => cell > 0);

// Amber, the surer the denser; what did not grow stays clear.
const AMBER = [241, 150, 30];
const DENSEST = 0.72;

export function drawGrowth(c: CanvasRenderingContext2D, growth: Growth): void {
  const cells = cellsOf(growth);
  if (!cells) return;
  const image = c.createImageData(growth.width, growth.height);
  cells.forEach((cell, n) => image.data.set([...AMBER, Math.round(cell * DENSEST)], 4 * n));
  c.putImageData(image, 0, 0);
}
