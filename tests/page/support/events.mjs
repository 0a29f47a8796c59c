// The stand-in station's log of events: some a camera, and the calls of docs/api.md.
const CAUSES = ["motion", "motion", "motion", "lighting", "motion", "view"];
const WHERE = ["lower left", "centre", "right side"];

// Every 23 minutes back from now, in turn over the cameras.
export function makeEvents(cameras, now, count = 130) {
  const events = [];
  for (let i = 0; i < count; i += 1) {
    const start = now - 120_000 - i * 23 * 60_000;
    const cause = CAUSES[i % CAUSES.length];
    const length = cause === "motion" ? 4_000 + (i % 7) * 3_500 : 0;
    events.push({
      id: 1000 - i,
      camera: cameras[i % cameras.length].name,
      cause,
      start: new Date(start).toISOString(),
      end: new Date(start + length).toISOString(),
      peak: cause === "motion" ? 0.004 + (i % 11) * 0.012 : 1,
      region: cause === "motion" ? { x: 0.1 + (i % 5) * 0.12, y: 0.35, w: 0.22, h: 0.4 } : { x: 0, y: 0, w: 1, h: 1 },
      where: cause === "motion" ? WHERE[i % WHERE.length] : "whole picture",
      best_at: new Date(start + length / 2).toISOString(),
      kept: i === 2,
      still: i % 9 !== 8,
      detail: "",
      job: null,
    });
  }
  // What was told of job 2 (jobs.mjs).
  const told = new Date(now - 90_000).toISOString();
  events.unshift({
    id: 1001, camera: "anvil", cause: "job", detail: "still", job: 2, start: told, end: null, peak: 0.82, region: { x: 0.3, y: 0.4, w: 0.4, h: 0.35 },
    where: "centre", best_at: told, kept: false, still: true,
  });
  return events;
}

function wanted(event, query) {
  const cameras = query.getAll("camera");
  if (cameras.length > 0 && !cameras.includes(event.camera)) return false;
  const causes = query.getAll("cause");
  if (causes.length > 0 && !causes.includes(event.cause)) return false;
  if (event.peak < Number(query.get("least_peak") ?? 0)) return false;
  if (query.has("kept") && String(event.kept) !== query.get("kept")) return false;
  if (query.has("from") && Date.parse(event.end ?? event.start) < Date.parse(query.get("from"))) return false;
  return !query.has("to") || Date.parse(event.start) <= Date.parse(query.get("to"));
}

export function listEvents(world, query, maySee) {
  const limit = Number(query.get("limit") ?? 50);
  const from = query.has("before") ? world.events.findIndex((event) => String(event.id) === query.get("before")) + 1 : 0;
  const found = [];
  let at = from;
  for (; at < world.events.length && found.length < limit; at += 1) {
    const event = world.events[at];
    if (maySee(event.camera) && wanted(event, query)) found.push(event);
  }
  const isMore = world.events.slice(at).some((event) => maySee(event.camera) && wanted(event, query));
  return { events: found, next: isMore ? String(world.events[at - 1].id) : null };
}
