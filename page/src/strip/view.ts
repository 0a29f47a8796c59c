// Which piece of time the strips show: a day, or a shorter length that moves on with the paper.
import { dayStart, HOUR, MINUTE, shiftDay } from "../time";
import type { TimeSpan } from "./data";

export type Length = "day" | "hours6" | "hour" | "minutes10";

export const LENGTHS: { length: Length; label: string; ms: number }[] = [
  { length: "day", label: "day", ms: 24 * HOUR },
  { length: "hours6", label: "6 h", ms: 6 * HOUR },
  { length: "hour", label: "1 h", ms: HOUR },
  { length: "minutes10", label: "10 min", ms: 10 * MINUTE },
];

// start null: goes along with now.
export interface View {
  length: Length;
  start: number | null;
}

const msOf = (length: Length): number => LENGTHS.find((one) => one.length === length)?.ms ?? 24 * HOUR;

// Shorter lengths jump on by a sixth, as paper is fed: the line "now" stands in the last sixth.
export function spanOf(view: View, now: number): TimeSpan {
  if (view.length === "day") {
    const from = dayStart(view.start ?? now);
    return { from, to: shiftDay(from, 1) };
  }
  const ms = msOf(view.length);
  if (view.start !== null) return { from: view.start, to: view.start + ms };
  const feed = ms / 6;
  const to = (Math.floor(now / feed) + 1) * feed;
  return { from: to - ms, to };
}

export const holdsNow = (view: View, now: number): boolean => {
  const span = spanOf(view, now);
  return now >= span.from && now < span.to;
};

// The view one length earlier (-1) or later (1); back at the present it goes along with now again.
export function moved(view: View, by: -1 | 1, now: number): View {
  const span = spanOf(view, now);
  const start = view.length === "day" ? shiftDay(span.from, by) : span.from + by * msOf(view.length);
  const next: View = { length: view.length, start };
  return holdsNow(next, now) || start > now ? { length: view.length, start: null } : next;
}

// Another length around `focus` (ms); null focus: around now, or the middle of what was shown.
export function withLength(view: View, length: Length, focus: number | null, now: number): View {
  if (focus === null && (view.start === null || holdsNow(view, now))) return { length, start: null };
  const span = spanOf(view, now);
  const middle = focus ?? (span.from + span.to) / 2;
  if (length === "day") {
    const start = dayStart(middle);
    return start === dayStart(now) ? { length, start: null } : { length, start };
  }
  const ms = msOf(length);
  const feed = ms / 6;
  const start = Math.round((middle - ms / 2) / feed) * feed;
  return holdsNow({ length, start }, now) || start > now ? { length, start: null } : { length, start };
}

export function onDay(view: View, day: number, now: number): View {
  const start = dayStart(day);
  if (start >= dayStart(now)) return { length: view.length, start: null };
  if (view.length === "day") return { length: "day", start };
  // Same time of day as before, on the other day.
  const offset = spanOf(view, now).from - dayStart(spanOf(view, now).from);
  return { length: view.length, start: start + offset };
}

// The shortest length that holds everything recorded so far: a station that was started minutes ago shows its
// minutes, not an empty day.
export function fittingLength(firstRecorded: number | null, now: number): Length {
  if (firstRecorded === null) return "day";
  for (const { length } of [...LENGTHS].reverse()) {
    if (spanOf({ length, start: null }, now).from <= firstRecorded) return length;
  }
  return "day";
}

// Rulings: strong ones carry a label.
export interface Rule {
  at: number;
  strong: boolean;
}

function stepsFor(ms: number): { strong: number; fine: number } {
  if (ms > 12 * HOUR) return { strong: 3 * HOUR, fine: HOUR };
  if (ms > 2 * HOUR) return { strong: HOUR, fine: 10 * MINUTE };
  if (ms > 30 * MINUTE) return { strong: 10 * MINUTE, fine: MINUTE };
  return { strong: MINUTE, fine: 10_000 };
}

// Closer than this, fine rules are a grey field and no help.
const LEAST_RULE_PX = 7;

// The rulings that there is room for on paper of this width; all strong ones stay.
export function rulesFor(view: TimeSpan, widthPx: number): Rule[] {
  const rules = rulesOf(view);
  const room = widthPx / Math.max(1, rules.length - 1) >= LEAST_RULE_PX;
  return room ? rules : rules.filter((rule) => rule.strong);
}

// Counted from local midnight, so that hours stand at whole hours in every zone and on days of a clock change.
export function rulesOf(view: TimeSpan): Rule[] {
  const { strong, fine } = stepsFor(view.to - view.from);
  const rules: Rule[] = [];
  if (fine >= HOUR) {
    const d = new Date(view.from);
    for (let hour = 0; ; hour += fine / HOUR) {
      const at = new Date(d.getFullYear(), d.getMonth(), d.getDate(), hour).getTime();
      if (at > view.to) break;
      if (rules.at(-1)?.at !== at) rules.push({ at, strong: hour % (strong / HOUR) === 0 });
    }
    return rules;
  }
  const zero = dayStart(view.from);
  for (let at = zero + Math.ceil((view.from - zero) / fine) * fine; at <= view.to; at += fine) {
    rules.push({ at, strong: (at - zero) % strong === 0 });
  }
  return rules;
}
