// A strip's numbers: decoded from the API's answer, the tail put on as time goes by, gathered into columns.
import { parseTime } from "../time";
import type { Cause, EventInfo, RecordingsAnswer, StripAnswer } from "../types";

export const enum Health {
  none = 0,
  live = 1,
  rough = 2,
  down = 3,
}

export interface StripData {
  from: number; // ms
  step: number; // ms
  energy: Uint8Array;
  health: Uint8Array;
}

export interface TimeSpan {
  from: number;
  to: number;
}

export interface Recordings {
  spans: TimeSpan[];
  kept: TimeSpan[];
  first: number | null;
  last: number | null;
}

function bytesOf(base64: string): Uint8Array {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i += 1) bytes[i] = text.charCodeAt(i);
  return bytes;
}

export function readStrip(answer: StripAnswer): StripData {
  const energy = bytesOf(answer.energy);
  const health = bytesOf(answer.health);
  const n = Math.min(energy.length, health.length);
  return {
    from: parseTime(answer.from) ?? 0,
    step: answer.step_s * 1000,
    energy: energy.subarray(0, n),
    health: health.subarray(0, n),
  };
}

function readSpans(spans: { from: string; to: string }[]): TimeSpan[] {
  const out: TimeSpan[] = [];
  for (const span of spans) {
    const from = parseTime(span.from);
    const to = parseTime(span.to);
    if (from !== null && to !== null && to >= from) out.push({ from, to });
  }
  return out.sort((a, b) => a.from - b.from);
}

export function readRecordings(answer: RecordingsAnswer): Recordings {
  return {
    spans: readSpans(answer.spans),
    kept: readSpans(answer.kept),
    first: parseTime(answer.first),
    last: parseTime(answer.last),
  };
}

// `data` with the newer `tail` laid over its end; steps between the two that nobody saw are "none".
export function withTail(data: StripData, tail: StripData): StripData {
  if (tail.energy.length === 0 || tail.step !== data.step) return data;
  const start = Math.round((tail.from - data.from) / data.step);
  if (start < 0) return tail;
  const length = Math.max(data.energy.length, start + tail.energy.length);
  const energy = new Uint8Array(length);
  const health = new Uint8Array(length);
  energy.set(data.energy);
  health.set(data.health);
  energy.set(tail.energy, start);
  health.set(tail.health, start);
  return { from: data.from, step: data.step, energy, health };
}

// What a strip's column of one pixel stands for. Health is the worst in it: a dropout of 10 s stays visible in a day.
export interface Columns {
  peak: Uint8Array;
  mean: Uint8Array;
  health: Uint8Array;
}

export function columnsOf(data: StripData, view: TimeSpan, width: number): Columns {
  const peak = new Uint8Array(width);
  const mean = new Uint8Array(width);
  const health = new Uint8Array(width);
  const perPixel = (view.to - view.from) / width;
  for (let x = 0; x < width; x += 1) {
    const first = Math.floor((view.from + x * perPixel - data.from) / data.step);
    const end = Math.max(first + 1, Math.floor((view.from + (x + 1) * perPixel - data.from) / data.step));
    let sum = 0;
    let n = 0;
    for (let i = Math.max(0, first); i < Math.min(end, data.health.length); i += 1) {
      const h = data.health[i] ?? 0;
      if (h > (health[x] ?? 0)) health[x] = h;
      if (h === Health.none) continue;
      const e = data.energy[i] ?? 0;
      if (e > (peak[x] ?? 0)) peak[x] = e;
      sum += e;
      n += 1;
    }
    mean[x] = n === 0 ? 0 : Math.round(sum / n);
  }
  return { peak, mean, health };
}

export interface StepAt {
  energy: number;
  health: Health;
}

export function stepAt(data: StripData | null, at: number): StepAt {
  if (!data) return { energy: 0, health: Health.none };
  const i = Math.floor((at - data.from) / data.step);
  return { energy: data.energy[i] ?? 0, health: (data.health[i] ?? 0) as Health };
}

// How long a step may take to be counted, written and fetched.
const COUNTED_AFTER_MS = 30_000;

// False while it is not known yet how the camera was at `at`: the step's numbers are still to come.
export function isCounted(data: StripData | null, at: number, now: number): boolean {
  if (!data) return false;
  return stepAt(data, at).health !== Health.none || now - at > COUNTED_AFTER_MS;
}

export const isIn = (spans: TimeSpan[], at: number): boolean => spans.some((span) => at >= span.from && at <= span.to);

// A recording that goes on has no end: it is drawn up to now when its last frame is younger than this.
export const STILL_GROWING_MS = 15_000;

// An event as the strip shows it. One that goes on has no end.
export interface EventMark {
  from: number;
  to: number | null;
  cause: Cause;
}

export function readMarks(events: EventInfo[]): EventMark[] {
  const marks: EventMark[] = [];
  for (const event of events) {
    const from = parseTime(event.start);
    if (from !== null) marks.push({ from, to: parseTime(event.end), cause: event.cause });
  }
  return marks.sort((a, b) => a.from - b.from);
}

// The events at `at`, give or take what a pixel stands for.
export const marksAt = (marks: EventMark[], at: number, slack: number): EventMark[] =>
  marks.filter((mark) => mark.from - slack <= at && (mark.to ?? Infinity) + slack >= at);
