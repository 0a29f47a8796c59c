// Fetches a strip and its recordings for a view, and the tail of both every ten seconds while the view holds now.
import { useEffect, useState } from "preact/hooks";
import { asProblem, call, cameraPath, type Problem } from "../api";
import { stationNow } from "../store";
import { toRfc3339 } from "../time";
import type { EventsAnswer, RecordingsAnswer, StripAnswer } from "../types";
import { readMarks, readRecordings, readStrip, withTail, type EventMark, type Recordings, type StripData, type TimeSpan } from "./data";

const REFRESH_MS = 10_000;
// Steps that may still have been unfinished at the last look are asked for again.
const OVERLAP_MS = 60_000;
const REMEMBERED = 120;

export interface StripFeed {
  strip: StripData | null;
  recordings: Recordings | null;
  marks: EventMark[];
  problem: Problem | null;
  again: () => void;
}

interface Held {
  strip: StripData | null;
  recordings: Recordings | null;
  marks: EventMark[];
}
const NOTHING: Held = { strip: null, recordings: null, marks: [] };

// More would be less than a pixel apart.
const MOST_MARKS = 500;

// What was shown last, so that coming back to a page does not show blank paper first.
const remembered = new Map<string, Held>();
function remember(key: string, held: Held): void {
  remembered.delete(key);
  remembered.set(key, held);
  const oldest = remembered.keys().next();
  if (remembered.size > REMEMBERED && !oldest.done) remembered.delete(oldest.value);
}

async function fetchSpan(camera: string, from: number, to: number, signal: AbortSignal) {
  const query = `from=${toRfc3339(from)}&to=${toRfc3339(to)}`;
  return await call<StripAnswer>(`${cameraPath(camera)}/strip?${query}`, { signal });
}

async function fetchRecordings(camera: string, view: TimeSpan, signal: AbortSignal): Promise<Recordings> {
  const query = `from=${toRfc3339(view.from)}&to=${toRfc3339(view.to)}`;
  return readRecordings(await call<RecordingsAnswer>(`${cameraPath(camera)}/recordings?${query}`, { signal }));
}

async function fetchMarks(camera: string, view: TimeSpan, signal: AbortSignal): Promise<EventMark[]> {
  const query = `camera=${encodeURIComponent(camera)}&from=${toRfc3339(view.from)}&to=${toRfc3339(view.to)}&limit=${MOST_MARKS}`;
  return readMarks((await call<EventsAnswer>(`/api/v1/events?${query}`, { signal })).events);
}

async function refreshed(camera: string, view: TimeSpan, held: Held, signal: AbortSignal): Promise<Held> {
  const to = Math.min(view.to, stationNow());
  if (to <= view.from) return NOTHING;
  const seen = held.strip ? held.strip.from + held.strip.step * held.strip.energy.length : view.from;
  const from = Math.max(view.from, Math.min(seen, to) - OVERLAP_MS);
  const [answer, recordings, marks] = await Promise.all([
    fetchSpan(camera, from, to, signal),
    fetchRecordings(camera, view, signal),
    fetchMarks(camera, view, signal),
  ]);
  const tail = readStrip(answer);
  return { strip: held.strip ? withTail(held.strip, tail) : tail, recordings, marks };
}

export function useStrip(camera: string, view: TimeSpan, wanted: boolean): StripFeed {
  const key = `${camera} ${view.from} ${view.to}`;
  const [state, setState] = useState<Held & { key: string; problem: Problem | null }>(() => ({
    key,
    problem: null,
    ...(remembered.get(key) ?? NOTHING),
  }));
  const [round, setRound] = useState(0);

  useEffect(() => {
    if (!wanted) return;
    const abort = new AbortController();
    let held: Held = remembered.get(key) ?? NOTHING;
    setState((old) => (old.key === key ? old : { key, problem: null, ...held }));
    const load = async (): Promise<void> => {
      try {
        held = await refreshed(camera, view, held, abort.signal);
        if (abort.signal.aborted) return;
        remember(key, held);
        setState({ key, problem: null, ...held });
      } catch (error) {
        if (!abort.signal.aborted) setState({ key, problem: asProblem(error), ...held });
      }
    };
    void load();
    const timer = window.setInterval(() => {
      const now = stationNow();
      const growing = now >= view.from && now < view.to + 2 * REFRESH_MS;
      if (growing && document.visibilityState === "visible") void load();
    }, REFRESH_MS);
    return () => {
      abort.abort();
      window.clearInterval(timer);
    };
  }, [key, wanted, round]);

  const current = state.key === key ? state : { ...NOTHING, problem: null };
  return { ...current, again: () => setRound((n) => n + 1) };
}
