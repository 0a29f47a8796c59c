// Times and days: the station speaks RFC 3339, the person reads their own zone.

export const SECOND = 1_000;
export const MINUTE = 60 * SECOND;
export const HOUR = 60 * MINUTE;
export const DAY = 24 * HOUR;

// Milliseconds since 1970 of an RFC 3339 text; null for anything else.
export function parseTime(text: string | null | undefined): number | null {
  if (!text) return null;
  const ms = Date.parse(text);
  return Number.isNaN(ms) ? null : ms;
}

export function toRfc3339(ms: number): string {
  return new Date(ms).toISOString();
}

// Midnight, in the person's zone, of the day that holds `ms`.
export function dayStart(ms: number): number {
  const d = new Date(ms);
  return new Date(d.getFullYear(), d.getMonth(), d.getDate()).getTime();
}

// Midnight `days` days later. Goes by the calendar: a day of a clock change has 23 or 25 hours.
export function shiftDay(ms: number, days: number): number {
  const d = new Date(ms);
  return new Date(d.getFullYear(), d.getMonth(), d.getDate() + days).getTime();
}

const DAY_FORM = new Intl.DateTimeFormat("en-GB", { weekday: "short", day: "numeric", month: "short", year: "numeric" });
const LONG_DAY_FORM = new Intl.DateTimeFormat("en-GB", {
  weekday: "long",
  day: "numeric",
  month: "long",
  year: "numeric",
});
const CLOCK_FORM = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", second: "2-digit" });
const MINUTE_FORM = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit" });

export const dayText = (ms: number): string => DAY_FORM.format(ms).replace(",", "");
export const longDayText = (ms: number): string => LONG_DAY_FORM.format(ms).replace(",", "");
export const clockText = (ms: number): string => CLOCK_FORM.format(ms);
export const minuteText = (ms: number): string => MINUTE_FORM.format(ms);

export function clockTenths(ms: number): string {
  const tenth = Math.floor((((ms % SECOND) + SECOND) % SECOND) / 100);
  return `${clockText(ms)}.${tenth}`;
}

// "GMT+1", "UTC": what the browser calls the zone at that moment.
export function zoneText(ms: number): string {
  const parts = new Intl.DateTimeFormat("en-GB", { timeZoneName: "short" }).formatToParts(ms);
  return parts.find((part) => part.type === "timeZoneName")?.value ?? "";
}

// The value of an <input type="date"> or "datetime-local", in the person's zone.
const two = (n: number): string => String(n).padStart(2, "0");
export function dateField(ms: number): string {
  const d = new Date(ms);
  return `${String(d.getFullYear()).padStart(4, "0")}-${two(d.getMonth() + 1)}-${two(d.getDate())}`;
}
export function dateTimeField(ms: number): string {
  const d = new Date(ms);
  return `${dateField(ms)}T${two(d.getHours())}:${two(d.getMinutes())}:${two(d.getSeconds())}`;
}
// A field's value without a zone is read in the person's zone; null when it is no date.
export function readDateField(text: string): number | null {
  const m = /^(\d{4})-(\d\d)-(\d\d)(?:T(\d\d):(\d\d)(?::(\d\d)(?:\.\d+)?)?)?$/.exec(text);
  if (!m) return null;
  const [year, month, day, hour, minute, second] = m.slice(1).map((part) => Number(part ?? 0));
  const d = new Date(year ?? 0, (month ?? 1) - 1, day ?? 1, hour ?? 0, minute ?? 0, second ?? 0);
  return d.getMonth() === (month ?? 1) - 1 ? d.getTime() : null;
}

// "12 s", "3 min 05 s", "2 h 10 min", "3 d 4 h": two units at most.
export function lengthText(ms: number): string {
  const s = Math.max(0, Math.round(ms / SECOND));
  if (s < 60) return `${s} s`;
  if (s < 3600) return s % 60 === 0 ? `${s / 60} min` : `${Math.floor(s / 60)} min ${two(s % 60)} s`;
  const minutes = Math.floor(s / 60);
  if (minutes < 24 * 60) return minutes % 60 === 0 ? `${minutes / 60} h` : `${Math.floor(minutes / 60)} h ${two(minutes % 60)} min`;
  const hours = Math.floor(minutes / 60);
  return hours % 24 === 0 ? `${hours / 24} d` : `${Math.floor(hours / 24)} d ${hours % 24} h`;
}
