// The log of events for a filter: its newest page, what came since, and earlier ones on request.
import { useEffect, useRef, useState } from "preact/hooks";
import { asProblem, call, type Problem } from "../api";
import { cameras, statusOf } from "../store";
import type { EventInfo, EventsAnswer } from "../types";
import { askOn, merged, queryOf, type Filter } from "./query";

export interface EventFeed {
  events: EventInfo[] | null; // null: not asked yet
  hasEarlier: boolean;
  busy: boolean;
  problem: Problem | null;
  earlier: () => void;
  put: (event: EventInfo) => void; // one that was changed here
}

// A number that changes when an event of these cameras begins or ends.
function useRound(camera: string): string {
  const names = camera === "" ? (cameras.value ?? []).map((one) => one.name) : [camera];
  return names
    .map((name) => {
      const status = statusOf(name).value;
      return `${status?.event?.id ?? ""}.${status?.events_ended ?? 0}`;
    })
    .join(" ");
}

// The station writes its log a moment after it tells of an event.
const WRITTEN_AFTER_MS = 600;

export function useEvents(filter: Filter, limit: number | null = null): EventFeed {
  const key = JSON.stringify(filter);
  const [events, setEvents] = useState<EventInfo[] | null>(null);
  const [next, setNext] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const [problem, setProblem] = useState<Problem | null>(null);
  const current = useRef(key); // an answer to another filter comes too late
  current.current = key;
  const round = useRound(filter.camera);

  const load = async (before: string | null, fresh: boolean): Promise<void> => {
    setBusy(true);
    try {
      const ask = (path: string): Promise<EventsAnswer> => call<EventsAnswer>(path);
      const answer = limit === null ? await askOn(ask, filter, before) : await ask(queryOf(filter, before, limit));
      if (current.current !== key) return;
      setProblem(null);
      setEvents((shown) => (fresh ? answer.events : merged(shown ?? [], answer.events)));
      if (fresh || before !== null) setNext(answer.next);
    } catch (error) {
      if (current.current === key) setProblem(asProblem(error));
    } finally {
      if (current.current === key) setBusy(false);
    }
  };

  useEffect(() => {
    setEvents(null);
    void load(null, true);
  }, [key]);
  // As the filter is when the time has come.
  const newest = useRef((): Promise<void> => Promise.resolve());
  newest.current = () => load(null, false);
  const first = useRef(true);
  useEffect(() => {
    if (first.current) {
      first.current = false;
      return;
    }
    const timer = window.setTimeout(() => void newest.current(), WRITTEN_AFTER_MS);
    return () => window.clearTimeout(timer);
  }, [round]);

  return {
    events,
    hasEarlier: next !== null,
    busy,
    problem,
    earlier: () => void load(next, false),
    put: (event) => setEvents((shown) => merged(shown ?? [], [event])),
  };
}
