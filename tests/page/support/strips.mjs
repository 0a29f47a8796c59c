// A made-up but plausible day of a camera: busy hours, quiet hours, a rough spell, a dropout, gaps in the recording.
const STEP = 10_000;

// A small generator, so that every run draws the same day.
export function random(seed) {
  let s = seed >>> 0;
  return () => {
    s = (s + 0x6d2b79f5) >>> 0;
    let t = Math.imul(s ^ (s >>> 15), 1 | s);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

// Energy and health of the step that begins at `at`, for camera number `n`.
export function stepOf(n, at, began) {
  if (at < began) return [0, 0];
  const r = random(Math.floor(at / STEP) * 31 + n);
  const hour = (at / 3_600_000) % 24;
  const minute = (at / 60_000) % 1440;
  const kinds = [
    (hour > 7 && hour < 19 ? 50 + 40 * Math.sin(minute / 17) : 2) + 18 * r(), // a print running all day
    hour > 8 && hour < 18 && Math.sin(minute / (9 + n)) > 0.6 ? 130 * r() : 4 * r(),
    r() > 0.985 ? 220 * r() : 3 * r(), // passers-by
    hour > 20 || hour < 5 ? 70 * r() * (0.5 + 0.5 * Math.sin(minute / 40)) : 6 * r(), // moths
  ];
  const energy = Math.max(0, Math.min(255, Math.round(kinds[n % kinds.length])));
  const down = n % 4 === 3 && minute % 190 < 6;
  const rough = n % 3 === 2 && minute % 240 > 60 && minute % 240 < 84;
  return down ? [0, 3] : [energy, rough ? 2 : 1];
}

export function stripOf(n, from, to, began, now) {
  const first = Math.floor(from / STEP) * STEP;
  const end = Math.min(to, now);
  const energy = [];
  const health = [];
  for (let at = first; at < end; at += STEP) {
    const [e, h] = stepOf(n, at, began);
    energy.push(e);
    health.push(h);
  }
  return {
    from: new Date(first).toISOString(),
    step_s: STEP / 1000,
    energy: Buffer.from(energy).toString("base64"),
    health: Buffer.from(health).toString("base64"),
  };
}

const CYCLE = 4 * 3_600_000;
export const GAP = 1_800_000;
const turnBefore = (at) => Math.floor(at / CYCLE) * CYCLE;

// When the last whole gap before `at` began.
export const gapBefore = (at) => turnBefore(at) - GAP;

// A moment some twenty minutes ago, or longer where those are in a gap, with ten minutes of recording behind it.
export function recordedBefore(now) {
  const at = now - 20 * 60_000;
  return Math.min(at, turnBefore(at) + CYCLE - GAP - 10 * 60_000);
}

// Recorded without the half hour before each fourth hour.
export function spansOf(from, to, began, now) {
  const spans = [];
  for (let at = turnBefore(from); at < Math.min(to, now); at += CYCLE) {
    const a = Math.max(at, began, from);
    const b = Math.min(at + CYCLE - GAP, now, to);
    if (b > a) spans.push({ from: a, to: b });
  }
  return spans;
}
