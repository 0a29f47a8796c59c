// What of the log of events is asked for, and how answers are put together. Pure.
import { parseTime, readDateField, toRfc3339 } from "../time";
import type { TimeSpan } from "../strip/data";
import type { Camera, Cause, EventInfo, EventsAnswer } from "../types";

export interface Filter {
  camera: string; // empty: all
  cause: Cause | "";
  leastPercent: string; // of the picture, as typed; empty: any
  day: string; // as a date field gives it, 2026-03-01; empty: any
  kept: boolean; // only kept ones
}

export const ALL_EVENTS: Filter = { camera: "", cause: "", leastPercent: "", day: "", kept: false };

export const PAGE = 50;

const DAY_MS = 86_400_000;

// The local day that a date field names; null when it names none.
export function daySpan(day: string): { from: number; to: number } | null {
  const from = readDateField(`${day}T00:00`);
  if (from === null) return null;
  // The next midnight: a day is not always 24 h long.
  const next = new Date(from + DAY_MS + DAY_MS / 2);
  next.setHours(0, 0, 0, 0);
  return { from, to: next.getTime() };
}

export function queryOf(filter: Filter, before: string | null, limit = PAGE): string {
  const query = new URLSearchParams();
  if (filter.camera) query.set("camera", filter.camera);
  if (filter.cause) query.set("cause", filter.cause);
  const percent = Number(filter.leastPercent);
  if (filter.leastPercent.trim() !== "" && percent > 0 && percent <= 100) query.set("least_peak", String(percent / 100));
  const span = filter.day ? daySpan(filter.day) : null;
  if (span) {
    query.set("from", toRfc3339(span.from));
    query.set("to", toRfc3339(span.to));
  }
  if (filter.kept) query.set("kept", "true");
  if (before !== null) query.set("before", before);
  query.set("limit", String(limit));
  return `/api/v1/events?${query}`;
}

const newestFirst = (a: EventInfo, b: EventInfo): number =>
  (parseTime(b.start) ?? 0) - (parseTime(a.start) ?? 0) || b.id - a.id;

// What is shown, with a later answer put in: what is known already is brought up to date and stays in its place.
export function merged(shown: EventInfo[], answer: EventInfo[]): EventInfo[] {
  const byId = new Map(shown.map((event) => [event.id, event]));
  for (const event of answer) byId.set(event.id, event);
  return [...byId.values()].sort(newestFirst);
}

// Asks on until there is something to show, or nothing more: an answer to a rare filter may be empty and still go on.
export async function askOn(
  ask: (path: string) => Promise<EventsAnswer>,
  filter: Filter,
  before: string | null,
  rounds = 20,
): Promise<EventsAnswer> {
  let found: EventInfo[] = [];
  let next = before;
  for (let round = 0; round < rounds; round += 1) {
    const answer = await ask(queryOf(filter, next));
    found = found.concat(answer.events);
    next = answer.next;
    if (next === null || found.length >= PAGE / 2) break;
  }
  return { events: found, next };
}

// What there is to see of an event: with the camera's pre-roll and post-roll.
export function spanOfEvent(event: EventInfo, camera: Pick<Camera, "pre_roll_ms" | "post_roll_ms">): TimeSpan | null {
  const from = parseTime(event.start);
  const to = parseTime(event.end);
  return from === null || to === null ? null : { from: from - camera.pre_roll_ms, to: to + camera.post_roll_ms };
}
