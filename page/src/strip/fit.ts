// Paper as long as there is something to see on it: which length a first look starts with.
import { call, cameraPath } from "../api";
import { loadStation, station, stationNow } from "../store";
import { dayStart, MINUTE, parseTime, toRfc3339 } from "../time";
import type { RecordingsAnswer } from "../types";
import { fittingLength, type View } from "./view";

// More cameras than this are not asked when theirs began: the oldest of a few is old enough.
const ASKED = 12;

export async function fittingView(names: string[]): Promise<View> {
  const now = stationNow();
  const query = `from=${toRfc3339(Math.max(dayStart(now), now - MINUTE))}&to=${toRfc3339(now)}`;
  const answers = await Promise.allSettled(
    names.slice(0, ASKED).map((name) => call<RecordingsAnswer>(`${cameraPath(name)}/recordings?${query}`)),
  );
  const firsts = answers.map((one) => (one.status === "fulfilled" ? parseTime(one.value.first) : null));
  const known = firsts.filter((at): at is number => at !== null);
  // Nothing recorded yet: the station's own start is the oldest that there can be.
  if (known.length === 0) await loadStation().catch(() => {});
  const began = known.length > 0 ? Math.min(...known) : parseTime(station.value?.started_at);
  return { length: fittingLength(began, now), start: null };
}
