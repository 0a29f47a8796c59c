// Vitals as the station sends them, and what there is to say of a span in a few numbers.
import { parseTime } from "../time";
import type { VitalsAnswer } from "../types";
import { bytesText, countText, framesText } from "../words";

export type Column = "frames_per_s" | "bytes_a_frame" | "longest_gap_s" | "jitter_s" | "broken" | "dropouts" | "light";

const space = "\u00a0";

export function secondsText(s: number): string {
  if (s < 0.9995) return `${(s * 1000).toFixed(s < 0.00995 ? 1 : 0)}${space}ms`;
  if (s < 99.5) return `${s.toFixed(s < 9.95 ? 1 : 0)}${space}s`;
  return `${(s / 60).toFixed(1)}${space}min`;
}

const secondsTick = (s: number): string => (s === 0 ? "0" : secondsText(s));

// What is drawn, in the order of the page. `sums`: counted in each step, not a mean of it.
export interface Drawn {
  column: Column;
  title: string;
  text: (value: number) => string;
  sums?: boolean;
  high?: boolean; // the high values are the bad ones
  tick: (value: number) => string; // on its axis, where room is scarce
}
export const DRAWN: Drawn[] = [
  { column: "frames_per_s", title: "Pictures", text: framesText, tick: (v) => `${+v.toFixed(1)}/s` },
  { column: "longest_gap_s", title: "Longest gap", text: secondsText, high: true, tick: secondsTick },
  { column: "jitter_s", title: "Unevenness", text: secondsText, high: true, tick: secondsTick },
  { column: "broken", title: "Broken pictures", text: countText, sums: true, high: true, tick: (v) => (Number.isInteger(v) ? countText(v) : "") },
  { column: "dropouts", title: "Dropouts", text: countText, sums: true, high: true, tick: (v) => (Number.isInteger(v) ? countText(v) : "") },
  { column: "bytes_a_frame", title: "Size of a picture", text: bytesText, tick: (v) => (v === 0 ? "0" : bytesText(v)) },
  { column: "light", title: "Light", text: (v) => `${v.toFixed(0)} of 255`, tick: (v) => v.toFixed(0) },
];

export interface Series {
  times: number[]; // s since 1970, the beginning of each step
  step: number; // s
  of: Record<Column | "live", (number | null)[]>;
}

export function readSeries(answer: VitalsAnswer): Series {
  const from = (parseTime(answer.from) ?? 0) / 1000;
  return {
    times: answer.live.map((_, i) => from + i * answer.step_s),
    step: answer.step_s,
    of: answer,
  };
}

export function median(values: number[]): number | null {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  const upper = sorted[middle] ?? 0;
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] ?? 0) + upper) / 2;
}

const known = (values: (number | null)[]): number[] => values.filter((v): v is number => v !== null);

// "9.9 frames/s in the middle, least 4.1 frames/s": one line a chart.
export function sayIn(series: Series, drawn: Drawn): string {
  const values = known(series.of[drawn.column]);
  const middle = median(values);
  if (middle === null) return "not measured";
  if (drawn.sums) {
    const total = values.reduce((sum, v) => sum + v, 0);
    return total === 0 ? "none" : `${drawn.text(total)} in all, at most ${drawn.text(Math.max(...values))} in ${stepText(series.step)}`;
  }
  const extreme = drawn.high ? Math.max(...values) : Math.min(...values);
  return `median ${drawn.text(middle)}, ${drawn.high ? "most" : "least"} ${drawn.text(extreme)}`;
}

export function stepText(step: number): string {
  if (step < 3600) return step === 60 ? "a minute" : `${step / 60}${space}min`;
  return step === 3600 ? "an hour" : step === 86_400 ? "a day" : `${step / 3600}${space}h`;
}

// How much of the measured time the camera was live, and how much was not measured at all.
export function liveText(series: Series): string {
  const values = known(series.of.live);
  if (values.length === 0) return "Nothing was measured in this span: the station or the camera was off.";
  const live = values.reduce((sum, v) => sum + v, 0) / values.length;
  const share = (100 * live).toFixed(live > 0.9995 || live < 0.0005 ? 0 : 1);
  const missing = series.of.live.length - values.length;
  const unseen = missing > 0 ? `; ${lengthOf(missing * series.step)} of the span were not measured` : "";
  return `Live ${share}${space}% of ${lengthOf(values.length * series.step)}${unseen}.`;
}

function lengthOf(s: number): string {
  if (s < 5400) return `${Math.round(s / 60)}${space}min`;
  if (s < 2 * 86_400) return `${(s / 3600).toFixed(s < 36_000 ? 1 : 0)}${space}h`;
  return `${(s / 86_400).toFixed(s < 864_000 ? 1 : 0)}${space}days`;
}
