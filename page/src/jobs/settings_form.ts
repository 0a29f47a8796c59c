// How a camera's jobs go, as text in a form, checked and turned into what the API takes. Pure.
import { DAYS } from "../notices/form";
import type { Bed, JobHours, JobSettings, JobSign } from "./types";

// The bed in percent of the picture, as typed.
export interface BedForm {
  x: string;
  y: string;
  w: string;
  h: string;
}

export interface HoursForm {
  days: string[]; // of DAYS
  from: string; // "08:00"
  length_h: string;
}

export interface SettingsForm {
  by_movement: boolean;
  still_every_s: string;
  still_after_min: string;
  expected_h: string; // empty: not known
  end_after_min: string;
  film_s: string; // empty: none is made
  keep_days: string;
  tell: JobSign[];
  hours: HoursForm[];
  bed: BedForm | null; // null: the station finds it
  pauses: boolean;
  receiver: number; // 0: none chosen
  stop_signs: JobSign[];
  hold_s: string;
}

export const SIGNS: JobSign[] = ["finished", "still", "loose", "covered", "knocked", "unsharp"];
export const STOP_SIGNS: JobSign[] = ["still", "loose", "covered", "knocked"];
export const MOST_HOURS = 50;
export const WHOLE_DAY: HoursForm = { days: DAYS, from: "08:00", length_h: "10" };

const short = (value: number, places = 3): string => String(Number(value.toFixed(places)));
const two = (n: number): string => String(n).padStart(2, "0");

export function bedForm(bed: Bed): BedForm {
  return { x: short(bed.x * 100, 1), y: short(bed.y * 100, 1), w: short(bed.w * 100, 1), h: short(bed.h * 100, 1) };
}

export function hoursForm(hours: JobHours): HoursForm {
  return {
    days: DAYS.filter((_, n) => (hours.days & (1 << n)) !== 0),
    from: `${two(Math.floor(hours.from_min / 60))}:${two(hours.from_min % 60)}`,
    length_h: short(hours.length_min / 60),
  };
}

export function formOfSettings(settings: JobSettings): SettingsForm {
  return {
    by_movement: settings.by_movement,
    still_every_s: short(settings.still_every_s),
    still_after_min: short(settings.still_after_s / 60),
    expected_h: settings.expected_s === null ? "" : short(settings.expected_s / 3600, 4),
    end_after_min: short(settings.end_after_s / 60),
    film_s: settings.film_s === null ? "" : short(settings.film_s),
    keep_days: short(settings.keep_stills_h / 24),
    tell: settings.tell,
    hours: settings.hours.map(hoursForm),
    bed: settings.bed && bedForm(settings.bed),
    pauses: settings.stop.receiver !== 0,
    receiver: settings.stop.receiver,
    stop_signs: settings.stop.signs,
    hold_s: short(settings.stop.hold_s),
  };
}

// A number as people type it, "1.5" or "1,5"; NaN for anything else and for nothing.
export function typed(text: string): number {
  const clean = text.trim().replace(",", ".");
  return /^\d+(\.\d*)?$|^\.\d+$/.test(clean) ? Number(clean) : Number.NaN;
}

const within = (text: string, least: number, most: number): boolean => typed(text) >= least && typed(text) <= most;

const LONGEST_H = 31 * 24;
const SHORTEST_S = 60;

// An empty field gives null: not known. `fault` where it is no number, or none that the station takes.
export function lengthOf(hours: string): { expected_s: number | null; fault: string | null } {
  if (hours.trim() === "") return { expected_s: null, fault: null };
  if (Number.isNaN(typed(hours))) return { expected_s: null, fault: "Hours, for example 3.5, or nothing." };
  const expected_s = Math.round(typed(hours) * 3600);
  if (expected_s >= SHORTEST_S && expected_s <= LONGEST_H * 3600) return { expected_s, fault: null };
  return { expected_s: null, fault: `From 0.017 (1 min) to ${LONGEST_H} h, or nothing.` };
}

export function minutesOf(clock: string): number | null {
  const m = /^([01]?\d|2[0-3]):([0-5]\d)$/.exec(clock.trim());
  return m ? Number(m[1]) * 60 + Number(m[2]) : null;
}

export type SettingsFaults = Partial<Record<Exclude<keyof SettingsForm, "hours">, string>> & { hours?: (string | null)[] };

// The shares that the form's percents stand for. A tenth of a percent is as fine as the form goes, so a bed that
// was rounded up beyond the picture's edge is cut there.
export function bedOf(form: BedForm): Bed {
  const [x, y, w, h] = [form.x, form.y, form.w, form.h].map((text) => typed(text) / 100) as [number, number, number, number];
  const fine = (share: number): number => Math.round(share * 1e6) / 1e6;
  return { x: fine(x), y: fine(y), w: fine(Math.min(w, 1 - x)), h: fine(Math.min(h, 1 - y)) };
}

const ROUNDED = 0.001;

function bedFault(form: BedForm): string | null {
  const parts = [form.x, form.y].every((text) => within(text, 0, 98)) && [form.w, form.h].every((text) => within(text, 2, 100));
  if (!parts) return "Left and top from 0 to 98 %, width and height from 2 to 100 %.";
  const [right, low] = [typed(form.x) + typed(form.w), typed(form.y) + typed(form.h)];
  return right > 100 + 100 * ROUNDED || low > 100 + 100 * ROUNDED ? "It reaches beyond the picture: left and width, top and height are 100 % at most together." : null;
}

function hoursFault(form: HoursForm): string | null {
  if (form.days.length === 0) return "Choose at least one day.";
  if (minutesOf(form.from) === null) return "From 00:00 to 23:59.";
  const minutes = Math.round(typed(form.length_h) * 60);
  return minutes >= 1 && minutes <= 7 * 24 * 60 ? null : "From 1 min (0.02 h) to 168 h.";
}

export function settingsFaults(form: SettingsForm): SettingsFaults {
  const faults: SettingsFaults = {};
  if (!within(form.still_every_s, 1, 600)) faults.still_every_s = "From 1 to 600 s.";
  if (!within(form.still_after_min, 1, 1440)) faults.still_after_min = "From 1 to 1440 min.";
  if (!within(form.end_after_min, 1, 1440)) faults.end_after_min = "From 1 to 1440 min.";
  const length = lengthOf(form.expected_h);
  if (length.fault !== null) faults.expected_h = length.fault;
  if (form.film_s.trim() !== "" && !within(form.film_s, 1, 3600)) faults.film_s = "From 1 to 3600 s, or nothing.";
  if (!within(form.keep_days, 1 / 24, 3650)) faults.keep_days = "From 0.042 (1 h) to 3650 days.";
  const bed = form.bed && bedFault(form.bed);
  if (bed) faults.bed = bed;
  const hours = form.hours.map(hoursFault);
  if (hours.some((one) => one !== null)) faults.hours = hours;
  if (!form.pauses) return faults;
  if (form.receiver === 0) faults.receiver = "Choose who is asked.";
  if (form.stop_signs.length === 0) faults.stop_signs = "Choose at least one, or switch it off.";
  if (!within(form.hold_s, 10, 3600)) faults.hold_s = "From 10 to 3600 s.";
  return faults;
}

// Only of a form without faults. What asks for a pause is kept as typed while it is switched off, but for who is asked.
export function settingsBody(form: SettingsForm): JobSettings {
  const hold = within(form.hold_s, 10, 3600) ? Math.round(typed(form.hold_s)) : 60;
  return {
    by_movement: form.by_movement,
    still_every_s: typed(form.still_every_s),
    still_after_s: Math.round(typed(form.still_after_min) * 60),
    expected_s: lengthOf(form.expected_h).expected_s,
    film_s: form.film_s.trim() === "" ? null : Math.round(typed(form.film_s)),
    end_after_s: Math.round(typed(form.end_after_min) * 60),
    bed: form.bed && bedOf(form.bed),
    tell: form.tell,
    hours: form.hours.map((one) => ({
      days: DAYS.reduce((bits, day, n) => bits | (one.days.includes(day) ? 1 << n : 0), 0),
      from_min: minutesOf(one.from) ?? 0,
      length_min: Math.round(typed(one.length_h) * 60),
    })),
    keep_stills_h: Math.max(1, Math.round(typed(form.keep_days) * 24)),
    stop: { receiver: form.pauses ? form.receiver : 0, signs: form.stop_signs, hold_s: hold },
  };
}

interface Point {
  x: number;
  y: number;
}

const LEAST = 0.02; // of the picture: as small as a bed may be

// The rectangle between two points of the picture, which are shares and may lie outside it.
export function bedBetween(a: Point, b: Point): Bed {
  const inside = (share: number): number => Math.min(1, Math.max(0, share));
  const side = (one: number, other: number): [number, number] => {
    const [low, high] = [Math.min(inside(one), inside(other)), Math.max(inside(one), inside(other))];
    const length = Math.max(LEAST, high - low);
    return [Math.min(low, 1 - length), length];
  };
  const [x, w] = side(a.x, b.x);
  const [y, h] = side(a.y, b.y);
  return { x, y, w, h };
}

// What of the settings is another than before: the rest may have been changed elsewhere meanwhile.
export function changesOf(before: JobSettings, after: JobSettings): Partial<JobSettings> {
  const keys = Object.keys(after) as (keyof JobSettings)[];
  return Object.fromEntries(keys.filter((key) => JSON.stringify(before[key]) !== JSON.stringify(after[key])).map((key) => [key, after[key]]));
}
