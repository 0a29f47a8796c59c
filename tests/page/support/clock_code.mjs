// Reads the clock that make-believe boards draw into their pictures (sim/clock_code.h has the layout), from nothing but the
// pixels of a canvas.

function crc8(bytes) {
  let crc = 0;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = crc & 0x80 ? ((crc << 1) ^ 0x07) & 0xff : (crc << 1) & 0xff;
  }
  return crc;
}

// luma(x, y) of whole pixels; width and height of the picture. Milliseconds since 1970, or null: no readable clock.
export function readClock(luma, width, height) {
  const u = width / 80;
  const cells = [];
  for (let k = 0; k < 56; k += 1) {
    const left = (50 + (k % 28)) * u;
    const top = height - (3 - Math.floor(k / 28)) * u;
    let sum = 0;
    let n = 0;
    for (let y = Math.round(top + 0.25 * u); y < Math.max(Math.round(top + 0.75 * u), Math.round(top + 0.25 * u) + 1); y += 1) {
      for (let x = Math.round(left + 0.25 * u); x < Math.max(Math.round(left + 0.75 * u), Math.round(left + 0.25 * u) + 1); x += 1) {
        sum += luma(x, y);
        n += 1;
      }
    }
    cells.push(sum / n);
  }
  const threshold = (cells[0] + cells[1] + cells[2] + cells[3]) / 4;
  const marks = [cells[0] - threshold, threshold - cells[1], cells[2] - threshold, threshold - cells[3]];
  if (marks.some((distance) => distance < 12)) return null;
  const bits = cells.slice(4).map((cell) => (cell > threshold ? 1n : 0n));
  let time = 0n;
  for (const bit of bits.slice(0, 44)) time = (time << 1n) | bit;
  let crc = 0;
  for (const bit of bits.slice(44)) crc = (crc << 1) | Number(bit);
  const bytes = [];
  for (let shift = 40n; shift >= 0n; shift -= 8n) bytes.push(Number((time >> shift) & 0xffn));
  return crc8(bytes) === crc ? Number(time) : null;
}

// The clock in the large picture of the page and the time that the page says it shows, read in one go.
export async function clockOnCanvas(tab, selector) {
  const shot = await tab.$eval(selector, (canvas) => {
    const { width, height } = canvas;
    const top = Math.floor(height - (4 * width) / 80);
    const { data } = canvas.getContext("2d").getImageData(0, top, width, height - top);
    const luma = [];
    for (let i = 0; i < data.length; i += 4) luma.push(Math.round(0.299 * data[i] + 0.587 * data[i + 1] + 0.114 * data[i + 2]));
    const said = document.querySelector("[data-read-out]")?.getAttribute("datetime");
    return { width, height, top, luma, said: said ? Date.parse(said) : null };
  });
  const luma = (x, y) => shot.luma[(y - shot.top) * shot.width + x] ?? 0;
  return { drawn: readClock(luma, shot.width, shot.height), said: shot.said };
}
