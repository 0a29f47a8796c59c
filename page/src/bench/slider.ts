// Between a text with its unit ("310 mA") and a slider's place, 0 to 1.
import type { PlanField, PlanUnit } from "./types";

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

// What people type for one and the same letter, made one (as src/plan/unit_text.cpp does).
function plainUnit(unit: string): string {
  return unit.replace(/[µμ]/gu, "u").replace(/[ΩΩ]/gu, "ohm").replace("²", "2").replace("°", "deg");
}

// The field's unit of this name, in any case when that leaves no doubt.
function unitNamed(field: PlanField, name: string): PlanUnit | null {
  const plain = plainUnit(name);
  const units = field.units ?? [];
  const exact = units.find((one) => one.text === plain);
  if (exact) return exact;
  const loose = units.filter((one) => one.text.toLowerCase() === plain.toLowerCase());
  return loose.length === 1 ? loose[0]! : null;
}

// Numbers that a person still reads at a glance; beyond them another unit says the same better.
const SMALLEST = 0.001;
const LARGEST = 99_999;
const readsWell = (number: number): boolean => number === 0 || (Math.abs(number) >= SMALLEST && Math.abs(number) <= LARGEST);

// The largest of the units that answers use in which the value is one or more; else the smallest of them.
function fittingUnit(value: number, field: PlanField): PlanUnit | null {
  const shown = (field.units ?? []).filter((one) => one.shown !== undefined).sort((a, b) => b.factor - a.factor);
  return shown.find((one) => Math.abs(value) >= one.factor) ?? shown.at(-1) ?? null;
}

interface Unit {
  name: string;
  size: number; // in the kind's own unit
}

// The unit that the person sees: typed, else of the answer's text, else of the preset or the example.
function seenUnit(field: PlanField, current: string, asked: { text: string; value?: number } | null): Unit | null {
  for (const text of [current, asked?.text, field.preset, field.example]) {
    const written = text && !/awg/i.test(text) ? readText(text) : null;
    const unit = written ? unitNamed(field, written.unit) : null;
    if (written && unit) return { name: written.unit, size: unit.factor };
  }
  return null;
}

// Without the station's list: the last answer tells the typed unit's size when it was given in that unit; else that of the
// range's ends serves.
function guessedUnit(field: PlanField, scale: Scale, current: string, asked: { text: string; value?: number } | null): Unit {
  const written = /awg/i.test(current) ? null : readText(current);
  const told = asked ? readText(asked.text) : null;
  if (written && told && told.unit === written.unit && told.number !== 0 && asked?.value) {
    return { name: written.unit, size: asked.value / told.number };
  }
  const end = readText(field.most ?? "");
  return { name: end?.unit ?? "", size: end && end.number !== 0 ? scale.most / end.number : 1 };
}

// What the slider writes: in the unit that the person sees, as long as the number can be read in it.
export function textAt(place: number, field: PlanField, scale: Scale, current: string, asked: { text: string; value?: number } | null): string {
  const value = valueAt(place, scale);
  let unit = seenUnit(field, current, asked) ?? guessedUnit(field, scale, current, asked);
  const fitting = readsWell(value / unit.size) ? null : fittingUnit(value, field);
  if (fitting) unit = { name: fitting.shown ?? fitting.text, size: fitting.factor };
  const number = rounded(value / unit.size, scale.least / unit.size, scale.most / unit.size, WHOLE.has(field.kind));
  // No exponent: 0.00001 is what a person reads.
  const digits = number.toLocaleString("en", { useGrouping: false, maximumFractionDigits: 9 });
  return unit.name === "" ? digits : `${digits} ${unit.name}`;
}
