// Between a text with its unit ("310 mA") and a slider's place, 0 to 1.
import type { PlanField } from "../types";

export interface Scale {
  least: number; // in the field's own unit, as the station counts
  most: number;
  log: boolean;
}

export interface Written {
  number: number;
  unit: string;
}

// The number in front of a text and what follows it; null when none stands there ("AWG 22" is none for a slider).
export function readText(text: string): Written | null {
  const m = /^\s*([-+−]?\d+(?:[.,]\d+)?)\s*(.*?)\s*$/u.exec(text);
  if (!m?.[1]) return null;
  const number = Number(m[1].replace(",", ".").replace("−", "-"));
  return Number.isFinite(number) ? { number, unit: m[2] ?? "" } : null;
}

const NO_SLIDER = new Set(["choice", "words"]);

// A range of more than two decades is slid through by ratios: else its small end could not be hit.
export function scaleOf(field: PlanField): Scale | null {
  const { least_value: least, most_value: most } = field;
  if (NO_SLIDER.has(field.kind) || least === undefined || most === undefined || !(most > least)) return null;
  return { least, most, log: least > 0 && most / least > 100 };
}

export function placeOf(value: number, scale: Scale): number {
  const { least, most } = scale;
  const inside = Math.min(most, Math.max(least, value));
  return scale.log ? Math.log(inside / least) / Math.log(most / least) : (inside - least) / (most - least);
}

export function valueAt(place: number, scale: Scale): number {
  const { least, most } = scale;
  return scale.log ? least * Math.pow(most / least, place) : least + place * (most - least);
}

const WHOLE = new Set(["count", "pixels"]);

// Three digits are as fine as a slider is; nothing beyond the range's ends comes of rounding.
function rounded(number: number, least: number, most: number, whole: boolean): number {
  const near = whole ? Math.round(number) : Number(number.toPrecision(3));
  return Math.min(most, Math.max(least, near));
}

// What the slider writes: in the unit that stands there, when the last answer (`asked`) was given in that unit and so tells
// its size; else in that of the range's ends.
export function textAt(place: number, field: PlanField, scale: Scale, current: string, asked: { text: string; value?: number } | null): string {
  const value = valueAt(place, scale);
  const written = readText(current);
  const gauge = /awg/i.test(current);
  const end = readText(field.most ?? "");
  let unit = end?.unit ?? "";
  let size = end && end.number !== 0 ? scale.most / end.number : 1;
  const told = asked ? readText(asked.text) : null;
  if (written && told && !gauge && told.unit === written.unit && told.number !== 0 && asked?.value) {
    unit = written.unit;
    size = asked.value / told.number;
  }
  const number = rounded(value / size, scale.least / size, scale.most / size, WHOLE.has(field.kind));
  // No exponent: 0.00001 is what a person reads.
  const digits = number.toLocaleString("en", { useGrouping: false, maximumFractionDigits: 9 });
  return unit === "" ? digits : `${digits} ${unit}`;
}
