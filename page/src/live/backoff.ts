// How long to wait before the next try to connect: 1 s, 2 s, 4 s … 30 s, spread so that many pages do not all
// come back in the same moment after the station was restarted.

export const LONGEST_WAIT_MS = 30_000;

// tries: failed tries so far, from 1; chance: 0–1.
export function waitBeforeTry(tries: number, chance: number): number {
  const full = Math.min(LONGEST_WAIT_MS, 1_000 * 2 ** Math.min(10, Math.max(0, tries - 1)));
  return Math.round(full * (0.75 + 0.25 * chance));
}
