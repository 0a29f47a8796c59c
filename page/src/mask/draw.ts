// Draws what a mask covers: hatched, so that the picture under it can still be seen.
import type { Cell, Mask } from "./mask";

const HATCH_PX = 9;

export function drawMask(c: CanvasRenderingContext2D, mask: Mask, width: number, height: number): void {
  const cellWidth = width / mask.columns;
  const cellHeight = height / mask.rows;
  c.save();
  c.beginPath();
  for (let row = 0; row < mask.rows; row += 1) {
    for (let column = 0; column < mask.columns; column += 1) {
      if (mask.ignored[row * mask.columns + column] !== 1) continue;
      c.rect(column * cellWidth, row * cellHeight, cellWidth + 0.5, cellHeight + 0.5);
    }
  }
  c.clip();
  c.fillStyle = "rgba(20, 24, 40, 0.45)";
  c.fillRect(0, 0, width, height);
  // Light on dark, so that it shows on a bright picture and on a dark one.
  c.strokeStyle = "rgba(255, 255, 255, 0.85)";
  c.lineWidth = 1.5;
  c.beginPath();
  for (let x = -height; x < width; x += HATCH_PX) {
    c.moveTo(x, height);
    c.lineTo(x + height, 0);
  }
  c.stroke();
  c.restore();
}

export function drawBrush(c: CanvasRenderingContext2D, mask: Mask, at: Cell, size: number, width: number, height: number): void {
  const cellWidth = width / mask.columns;
  const cellHeight = height / mask.rows;
  c.save();
  for (const [colour, wide] of [["#000", 4], ["#fff", 2]] as const) {
    c.strokeStyle = colour;
    c.lineWidth = wide;
    c.beginPath();
    c.ellipse((at.column + 0.5) * cellWidth, (at.row + 0.5) * cellHeight, (size / 2) * cellWidth, (size / 2) * cellHeight, 0, 0, 2 * Math.PI);
    c.stroke();
  }
  c.restore();
}
