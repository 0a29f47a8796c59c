// Made-up but plausible vitals: even by day, rough in the evening, off the air for ten minutes every five hours; measured for
// the last three weeks only.
import { random } from "./strips.mjs";

const MINUTE = 60_000;
const STEPS = [1, 5, 15, 30, 60, 180, 360, 720, 1440]; // min
const MOST = 1500;

export function vitalsOf(n, from, to, now) {
  const minutes = STEPS.find((m) => (to - from) / (m * MINUTE) < MOST);
  const step = minutes * MINUTE;
  const first = Math.floor(from / step) * step;
  const out = { from: new Date(first).toISOString(), step_s: minutes * 60 };
  const columns = ["live", "frames_per_s", "bytes_a_frame", "longest_gap_s", "jitter_s", "broken", "connects", "dropouts", "light"];
  for (const column of columns) out[column] = [];
  for (let at = first; at < to; at += step) {
    const values = at < now - 21 * 1440 * MINUTE || at > now ? null : valuesAt(n, at, minutes);
    columns.forEach((column, i) => out[column].push(values ? values[i] : null));
  }
  return out;
}

function valuesAt(n, at, minutes) {
  const r = random(Math.floor(at / MINUTE) * 17 + n);
  const hour = (at / 3_600_000) % 24;
  const rough = hour > 18 && hour < 20;
  const down = minutes < 30 && (at / MINUTE) % 300 < 10;
  const light = 20 + 150 * Math.max(0, Math.sin(((hour - 6) / 12) * Math.PI)) + 4 * r();
  if (down) return [0, 0, null, 60, 0.02, 0, 1, 0, null];
  return [
    rough ? 0.9 : 1,
    10 - (rough ? 4 * r() : 0.3 * r()),
    22_000 + 6_000 * Math.sin(at / 9e6) + 900 * r(),
    (rough ? 1.5 : 0.16) + 0.2 * r(),
    (rough ? 0.03 : 0.006) + 0.002 * r(),
    rough ? Math.floor(4 * r()) * minutes : 0,
    0,
    rough && r() > 0.8 ? 1 : 0,
    light,
  ];
}
