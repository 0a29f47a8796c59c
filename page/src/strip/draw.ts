// Draws a strip's trace on a canvas, as a pen would on ruled paper.
import { columnsOf, Health, STILL_GROWING_MS, type Columns, type EventMark, type Recordings, type StripData, type TimeSpan } from "./data";
import { rulesFor } from "./view";

export interface Colours {
  ink: string;
  inkFaint: string;
  rule: string;
  ruleStrong: string;
  amber: string;
  text: string;
  muted: string;
  blank: string;
}

export function readColours(element: Element): Colours {
  const style = getComputedStyle(element);
  const get = (name: string): string => style.getPropertyValue(name).trim();
  return {
    ink: get("--trace"),
    inkFaint: get("--trace-faint"),
    rule: get("--rule"),
    ruleStrong: get("--rule-strong"),
    amber: get("--amber"),
    text: get("--ink"),
    muted: get("--muted"),
    blank: get("--blank"),
  };
}

export interface Sheet {
  view: TimeSpan;
  now: number;
  strip: StripData | null;
  recordings: Recordings | null;
  marks: EventMark[];
}

// Heights from the bottom, CSS pixels: the recording's ink line and the mark of what is kept lie under the trace.
export const FOOT = 13;
const TOP = 5;
// Strips at least this high have room for the names of their lines.
const NAMED_FROM = 100;

class Pen {
  constructor(
    readonly c: CanvasRenderingContext2D,
    readonly width: number,
    readonly height: number,
    readonly ratio: number,
    readonly colours: Colours,
    readonly sheet: Sheet,
  ) {}

  get base(): number {
    return this.height - FOOT;
  }

  x(at: number): number {
    const { from, to } = this.sheet.view;
    return ((at - from) / (to - from)) * this.width;
  }

  // A one-device-pixel line stays sharp only on half device pixels.
  crisp(v: number): number {
    return (Math.round(v * this.ratio) + 0.5) / this.ratio;
  }
}

export function drawStrip(canvas: HTMLCanvasElement, width: number, height: number, sheet: Sheet, colours: Colours): void {
  const ratio = window.devicePixelRatio || 1;
  const w = Math.max(1, Math.round(width * ratio));
  const h = Math.max(1, Math.round(height * ratio));
  if (canvas.width !== w) canvas.width = w;
  if (canvas.height !== h) canvas.height = h;
  const c = canvas.getContext("2d");
  if (!c) return;
  c.setTransform(ratio, 0, 0, ratio, 0, 0);
  c.clearRect(0, 0, width, height);
  const pen = new Pen(c, width, height, ratio, colours, sheet);
  drawPassed(pen);
  drawShares(pen);
  drawRules(pen);
  if (sheet.strip) {
    // Columns of one device pixel: the finest that the screen can tell apart.
    const columns = columnsOf(sheet.strip, sheet.view, w);
    drawHealth(pen, columns);
    drawTrace(pen, columns);
  }
  drawBaseline(pen);
  if (sheet.recordings) drawRecordings(pen, sheet.recordings);
  drawMarks(pen);
  if (height >= NAMED_FROM) drawShareNames(pen);
  drawNow(pen);
}

// Paper that has come past the pen is a shade lighter than what is still to come.
function drawPassed(pen: Pen): void {
  const { c, sheet } = pen;
  const until = Math.min(pen.width, Math.max(0, pen.x(sheet.now)));
  c.fillStyle = pen.colours.blank;
  c.fillRect(0, 0, until, pen.base);
}

// Lines at 1, 4, 9 and 16 % of the picture: equal steps on the square-root scale of motion energy, 25 % at the top.
function drawShares(pen: Pen): void {
  const { c } = pen;
  c.strokeStyle = pen.colours.rule;
  c.lineWidth = 1 / pen.ratio;
  const room = pen.base - TOP;
  c.beginPath();
  for (let fifth = 1; fifth <= 5; fifth += 1) {
    const y = pen.crisp(pen.base - (fifth / 5) * room);
    c.moveTo(0, y);
    c.lineTo(pen.width, y);
  }
  c.stroke();
}

// What the lines stand for, at the right edge, where the paper is still blank for most of a day.
function drawShareNames(pen: Pen): void {
  const { c } = pen;
  const room = pen.base - TOP;
  c.fillStyle = pen.colours.muted;
  c.font = `11px ${getComputedStyle(c.canvas).fontFamily}`;
  c.textAlign = "right";
  c.textBaseline = "middle";
  for (const fifth of [1, 2, 3, 4]) c.fillText(`${fifth * fifth} %`, pen.width - 3, pen.base - (fifth / 5) * room);
}

function drawRules(pen: Pen): void {
  const { c } = pen;
  c.lineWidth = 1 / pen.ratio;
  for (const rule of rulesFor(pen.sheet.view, pen.width)) {
    const x = pen.crisp(pen.x(rule.at));
    if (x < 0 || x > pen.width) continue;
    c.strokeStyle = rule.strong ? pen.colours.ruleStrong : pen.colours.rule;
    c.beginPath();
    c.moveTo(x, 0);
    c.lineTo(x, pen.base);
    c.stroke();
  }
}

// Calls back for each run of columns with the same health.
function runsOf(health: Uint8Array, call: (from: number, to: number, health: number) => void): void {
  let start = 0;
  for (let x = 1; x <= health.length; x += 1) {
    if (x < health.length && health[x] === health[start]) continue;
    call(start, x, health[start] ?? 0);
    start = x;
  }
}

// Down: slanted hatching over the whole height, amber. Rough: a row of dots along the top, amber. Not running:
// nothing but a dotted baseline. Told apart by shape, so that colour is only a help.
function drawHealth(pen: Pen, columns: Columns): void {
  runsOf(columns.health, (a, b, health) => {
    const from = a / pen.ratio;
    const to = Math.max(b / pen.ratio, from + 2);
    if (health === Health.down) hatch(pen, from, to);
    if (health === Health.rough) dots(pen, from, to);
  });
}

function hatch(pen: Pen, from: number, to: number): void {
  const { c } = pen;
  c.save();
  c.beginPath();
  c.rect(from, TOP - 3, to - from, pen.base - TOP + 3);
  c.clip();
  c.globalAlpha = 0.16;
  c.fillStyle = pen.colours.amber;
  c.fillRect(from, 0, to - from, pen.base);
  c.globalAlpha = 1;
  c.strokeStyle = pen.colours.amber;
  c.lineWidth = 1;
  c.beginPath();
  const start = Math.floor((from - pen.height) / 5) * 5;
  for (let x = start; x < to; x += 5) {
    c.moveTo(x, pen.base);
    c.lineTo(x + pen.base, 0);
  }
  c.stroke();
  c.restore();
}

function dots(pen: Pen, from: number, to: number): void {
  const { c } = pen;
  c.fillStyle = pen.colours.amber;
  const start = Math.ceil(from / 4) * 4;
  const last = Math.max(start, to - 1);
  for (let x = start; x <= last; x += 4) c.fillRect(x, TOP - 3, 2, 2);
}

function drawTrace(pen: Pen, columns: Columns): void {
  const { c } = pen;
  const room = pen.base - TOP;
  const y = (energy: number): number => pen.base - (energy / 255) * room;
  const step = 1 / pen.ratio;
  runsOf(columns.health, (a, b, health) => {
    if (health === Health.none) return;
    c.fillStyle = pen.colours.inkFaint;
    for (let x = a; x < b; x += 1) {
      const top = y(columns.peak[x] ?? 0);
      c.fillRect(x * step, top, step, pen.base - top);
    }
    // The pen's line joins the peaks; a hair of ink even where nothing moved says "was watched".
    c.strokeStyle = pen.colours.ink;
    c.lineWidth = 1.1;
    c.lineJoin = "round";
    c.beginPath();
    for (let x = a; x < b; x += 1) {
      const top = Math.min(y(columns.peak[x] ?? 0), pen.base - 0.6);
      if (x === a) c.moveTo(x * step, top);
      else c.lineTo((x + 0.5) * step, top);
    }
    c.lineTo(b * step, Math.min(y(columns.peak[b - 1] ?? 0), pen.base - 0.6));
    c.stroke();
  });
}

function drawBaseline(pen: Pen): void {
  const { c } = pen;
  c.strokeStyle = pen.colours.ruleStrong;
  c.lineWidth = 1 / pen.ratio;
  c.setLineDash([2, 3]);
  c.beginPath();
  const y = pen.crisp(pen.base);
  c.moveTo(0, y);
  c.lineTo(pen.width, y);
  c.stroke();
  c.setLineDash([]);
}

// An ink line for what is recorded; what is kept is bracketed under it.
function drawRecordings(pen: Pen, recordings: Recordings): void {
  const { c, sheet } = pen;
  const y = pen.base + 4;
  c.fillStyle = pen.colours.text;
  for (const span of recordings.spans) {
    const growing = sheet.now - span.to < STILL_GROWING_MS;
    const a = Math.max(0, pen.x(span.from));
    const b = Math.min(pen.width, pen.x(growing ? sheet.now : span.to));
    if (b >= 0 && a <= pen.width) c.fillRect(a, y - 1, Math.max(1, b - a), 2);
  }
  c.strokeStyle = pen.colours.text;
  c.lineWidth = 1.2;
  for (const span of recordings.kept) {
    const a = pen.crisp(Math.max(0, pen.x(span.from)));
    const b = pen.crisp(Math.min(pen.width, Math.max(pen.x(span.to), pen.x(span.from) + 4)));
    if (b < 0 || a > pen.width) continue;
    c.beginPath();
    c.moveTo(a, y + 3);
    c.lineTo(a, y + 6.5);
    c.lineTo(b, y + 6.5);
    c.lineTo(b, y + 3);
    c.stroke();
  }
}

const MARK_HEIGHT = 5;
const LEAST_MARK = 3;

// Events, along the top: a full bar for motion, a hollow one for a lamp, a crossed one for another view
// and for what is told of a job.
function drawMarks(pen: Pen): void {
  const { c, sheet } = pen;
  c.fillStyle = pen.colours.text;
  c.strokeStyle = pen.colours.text;
  c.lineWidth = 1;
  for (const mark of sheet.marks) {
    const x = pen.x(mark.from);
    const width = Math.max(LEAST_MARK, pen.x(mark.to ?? sheet.now) - x);
    if (x + width < 0 || x > pen.width) continue;
    if (mark.cause === "motion") {
      c.fillRect(x, 0, width, MARK_HEIGHT - 1);
      continue;
    }
    const wide = Math.max(width, MARK_HEIGHT + 1);
    c.strokeRect(x + 0.5, 0.5, wide, MARK_HEIGHT - 1);
    if (mark.cause !== "view" && mark.cause !== "job") continue;
    c.beginPath();
    c.moveTo(x + 0.5, 0.5);
    c.lineTo(x + 0.5 + wide, MARK_HEIGHT - 0.5);
    c.moveTo(x + 0.5 + wide, 0.5);
    c.lineTo(x + 0.5, MARK_HEIGHT - 0.5);
    c.stroke();
  }
}

// The pen itself: a fine line with a small tip at the top.
function drawNow(pen: Pen): void {
  const { c, sheet } = pen;
  const x = pen.x(sheet.now);
  if (x < 0 || x > pen.width) return;
  c.strokeStyle = pen.colours.ink;
  c.fillStyle = pen.colours.ink;
  c.lineWidth = 1;
  c.beginPath();
  c.moveTo(pen.crisp(x), 0);
  c.lineTo(pen.crisp(x), pen.base);
  c.stroke();
  c.beginPath();
  c.moveTo(x - 4, 0);
  c.lineTo(x + 4, 0);
  c.lineTo(x, 6);
  c.fill();
}
