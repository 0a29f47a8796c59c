// Jobs of the made-up world, answered as the station does.
const iso = (ms) => new Date(ms).toISOString();

export function makeJobs(now) {
  return [
    { id: 2, camera: "anvil", label: "bracket", began_by: "hand", start: iso(now - 5_400_000), end: null, ending: null, expected_s: 10_800, expected_end: iso(now + 5_400_000), good: null,
      facts: { lasted_s: 5400, longest_quiet_s: 40, moving_share: 0.05, grown_share: 0.03 }, film: null,
      now: { phase: "resting", moving_share: 0.05, quiet_s: 640, grown_share: 0.031, grown_per_hour: 0.01, bed: null, standing: ["still"], last_still: iso(now - 4000), growth: null } },
    { id: 1, camera: "cog", label: "vase", began_by: "watch", start: iso(now - 90_000_000), end: iso(now - 80_000_000), ending: "finished", expected_s: null, expected_end: null, good: null,
      facts: { lasted_s: 10_000, longest_quiet_s: 30, moving_share: 0.05, grown_share: 0.06 }, now: null,
      film: { state: "made", length_s: 30, progress: null, bytes: 4_200_000, made_at: iso(now - 79_000_000), told: "" } },
  ];
}

const step = (id, job, at, by, what, words, more = {}) => ({
  id, job, at: iso(at), by, what, words, note: "", over: false, strength: 0.9, sure: true, before: null, region: { x: 0, y: 0, w: 0, h: 0 }, ...more,
});

function stepsOf(job) {
  const start = Date.parse(job.start);
  const steps = [step(1, job.id, start, job.began_by, "started", "the job began")];
  if (job.end === null) steps.push(step(2, job.id, start + 4_800_000, "watch", "still", "nothing moves though it should", { sure: false, before: iso(start + 4_200_000) }));
  else steps.push(step(3, job.id, Date.parse(job.end), "watch", job.ending, "the work is finished"));
  return steps;
}

// {status, body} of a call below /api/v1/jobs; body undefined: 204.
export function jobsCall(world, method, id, act, query, body) {
  const job = world.jobs.find((one) => String(one.id) === id);
  if (method === "GET" && id === undefined) {
    const under = query.get("under_way");
    return { status: 200, body: { jobs: world.jobs.filter((one) => under === null || String(one.end === null) === under), next: null } };
  }
  if (method === "POST" && id === undefined) {
    const other = world.jobs.find((one) => one.camera === body.camera && one.end === null);
    if (other) return { status: 409, problem: ["already-exists", "There is one already", `job ${other.id} has been under way`, "End it first: a camera films one job at a time."] };
    if (body.expected_s !== undefined && !(body.expected_s >= 60)) return { status: 422, problem: ["invalid-value", "Not allowed", `job: "expected_s" is ${body.expected_s}`, "Give 60 to 2678400."] };
    const made = { ...structuredClone(world.jobs[0]), id: world.jobs.length + 1, camera: body.camera, label: body.label ?? "", start: iso(Date.now()), expected_s: body.expected_s ?? null, expected_end: null, now: null, film: null };
    if (made.expected_s !== null) made.expected_end = iso(Date.now() + 1000 * made.expected_s);
    world.jobs.unshift(made);
    return { status: 201, body: made };
  }
  if (!job) return { status: 404, problem: ["not-found", "No such job", `there is no job "${id}"`, "GET /api/v1/jobs lists those there are."] };
  if (method === "GET" && act === undefined) return { status: 200, body: { ...job, steps: stepsOf(job) } };
  if (method === "PATCH") return { status: 200, body: Object.assign(job, body) };
  if (method === "DELETE") return (world.jobs = world.jobs.filter((one) => one !== job)), { status: 204 };
  if (method === "POST" && act === "end") return { status: 200, body: Object.assign(job, { end: iso(Date.now()), ending: body.ending, now: null }) };
  if (method === "POST" && act === "film") return { status: 202, body: Object.assign(job, { film: { state: "wanted", length_s: body.length_s, progress: 0.2, bytes: 0, made_at: null, told: "" } }) };
  return { status: 404, problem: ["not-found", "Not found", `There is no ${act}.`, ""] };
}
