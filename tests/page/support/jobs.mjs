// Jobs of the made-up world, answered and refused as the station does (src/web/handlers_jobs.cpp).
const iso = (ms) => new Date(ms).toISOString();

const WIDE = 32;
const HIGH = 24;
// A part that grew in the middle of the picture.
const grown = () => Buffer.from(Array.from({ length: WIDE * HIGH }, (_, n) => (Math.hypot((n % WIDE) - 16, Math.floor(n / WIDE) - 14) < 5 ? 230 : 0)));

const overJob = (id, camera, label, from, to, more = {}) => ({
  id, camera, label, began_by: "watch", start: iso(from), end: iso(to), ending: "finished", expected_s: null, expected_end: null, good: null,
  facts: { lasted_s: (to - from) / 1000, longest_quiet_s: 30, moving_share: 0.05, grown_share: 0.06 }, now: null, film: null, ...more,
});

export function makeJobs(now) {
  const film = { state: "made", length_s: 30, progress: null, bytes: 4_200_000, made_at: iso(now - 79_000_000), told: "" };
  const older = Array.from({ length: 24 }, (_, n) => overJob(100 + n, "bobbin", `tray ${24 - n}`, now - (n + 2) * 86_400_000, now - (n + 2) * 86_400_000 + 9_000_000, { good: n % 3 === 0 ? true : null }));
  return [
    { id: 2, camera: "anvil", label: "bracket", began_by: "hand", start: iso(now - 5_400_000), end: null, ending: null, expected_s: 10_800, expected_end: iso(now + 5_400_000), good: null,
      facts: { lasted_s: 5400, longest_quiet_s: 40, moving_share: 0.05, grown_share: 0.03 }, film: null,
      now: { phase: "resting", moving_share: 0.05, quiet_s: 640, grown_share: 0.031, grown_per_hour: 0.01, bed: null, standing: ["still"], last_still: iso(now - 4000), growth: null } },
    overJob(1, "cog", "vase", now - 90_000_000, now - 80_000_000, { film }),
    ...older,
  ];
}

const step = (id, job, at, by, what, words, more = {}) => ({
  id, job, at: iso(at), by, what, words, note: "", over: false, strength: 0, sure: true, before: null, region: { x: 0, y: 0, w: 0, h: 0 }, ...more,
});

// `more`: what a test has its station see meanwhile, without id and job.
function stepsOf(job, more = []) {
  const start = Date.parse(job.start);
  const steps = [step(1, job.id, start, job.began_by, "started", "the job began")];
  if (job.end === null) steps.push(step(2, job.id, start + 4_800_000, "watch", "still", "nothing moves though it should", { strength: 0.82, sure: false, before: iso(start + 4_200_000), region: { x: 0.3, y: 0.4, w: 0.4, h: 0.35 } }));
  else steps.push(step(3, job.id, Date.parse(job.end), "watch", job.ending, "the work is finished"));
  for (const [n, { at, what, words }] of more.entries()) steps.push(step(10 + n, job.id, at, "hook", what, words));
  return steps;
}

const invalid = (what, remedy) => ({ status: 422, problem: ["invalid-value", "A value is not allowed", `job: ${what}`, remedy] });
const noCamera = (name) => ({ status: 404, problem: ["not-found", "There is no such thing here", `camera: there is no camera "${name}"`, "Look whether it was removed or is written otherwise."] });
const busy = (job) => ({ status: 409, problem: ["busy", "Busy", `job ${job.id} is under way`, "End it first."] });
const whole = (value, least, most) => Number.isInteger(value) && value >= least && value <= most;
const clean = (label) => typeof label === "string" && [...label].length <= 64 && !/[\u0000-\u001f]|^\s|\s$/.test(label);

// What may stand in a body, by name; anything else is refused as src/web/fields.cpp does.
const MAY = {
  camera: (value) => typeof value === "string",
  label: clean,
  note: (value) => typeof value === "string",
  expected_s: (value) => whole(value, 60, 2_678_400),
  good: (value) => value === null || typeof value === "boolean",
  ending: (value) => ["finished", "failed", "ended"].includes(value),
  length_s: (value) => whole(value, 1, 3600),
};

// The refusal of a body, or nothing.
function wrongBody(body, known, nullable = []) {
  if (body === null || typeof body !== "object" || Array.isArray(body)) return invalid("the body is no object", "Send one JSON object.");
  for (const [key, value] of Object.entries(body)) {
    if (!known.includes(key)) return invalid(`"${key}" is not a member that may stand here`, `Members are: ${known.join(", ")}.`);
    if (!(value === null && nullable.includes(key)) && !MAY[key](value)) return invalid(`"${key}" is ${JSON.stringify(value)}`, "Choose one that may stand here.");
  }
  return null;
}

function page(world, query, sees) {
  const under = query.get("under_way");
  if (under !== null && !["true", "false"].includes(under)) return invalid(`"under_way" is "${under}"`, "Give true or false.");
  if (query.has("limit") && !(/^\d+$/.test(query.get("limit")) && whole(Number(query.get("limit")), 1, 500))) return invalid(`"limit" is "${query.get("limit")}"`, "Give a whole number from 1 to 500.");
  if (query.has("before") && !/^-?\d+-\d+$/.test(query.get("before"))) return invalid(`"${query.get("before")}" is no place in the log`, 'Send the "next" of the answer before, as it is.');
  if (query.has("camera") && !(sees(query.get("camera")) && world.indexOf(query.get("camera")) >= 0)) return noCamera(query.get("camera"));
  const wanted = world.jobs.filter((one) => sees(one.camera) && (under === null || String(one.end === null) === under) && (!query.has("camera") || one.camera === query.get("camera")));
  const from = query.has("before") ? wanted.findIndex((one) => placeOf(one) === query.get("before")) + 1 : 0;
  const limit = Number(query.get("limit") ?? 50);
  const jobs = wanted.slice(from, from + limit);
  return { status: 200, body: { jobs, next: wanted.length > from + limit ? placeOf(jobs.at(-1)) : null } };
}

const placeOf = (job) => `${Date.parse(job.start)}-${job.id}`;

function begin(world, body) {
  const wrong = wrongBody(body, ["camera", "label", "note", "expected_s"]);
  if (wrong) return wrong;
  if (body.camera === undefined) return invalid('"camera" is missing', "Send it along.");
  if (world.indexOf(body.camera) < 0) return noCamera(body.camera);
  const other = world.jobs.find((one) => one.camera === body.camera && one.end === null);
  if (other) return { status: 409, problem: ["already-exists", "There is one already", `job ${other.id} has been under way since ${other.start}`, "End it first: a camera films one job at a time."] };
  const id = Math.max(...world.jobs.map((one) => one.id)) + 1;
  const made = { ...overJob(id, body.camera, body.label ?? "", Date.now(), Date.now()), began_by: "hand", end: null, ending: null, expected_s: body.expected_s ?? null };
  if (made.expected_s !== null) made.expected_end = iso(Date.now() + 1000 * made.expected_s);
  world.jobs.unshift(made);
  return { status: 201, body: made };
}

function change(job, body) {
  const wrong = wrongBody(body, ["label", "expected_s", "good"], ["expected_s", "good"]);
  if (wrong) return wrong;
  Object.assign(job, body);
  if (body.expected_s !== undefined) job.expected_end = job.expected_s === null ? null : iso(Date.parse(job.start) + 1000 * job.expected_s);
  return { status: 200, body: job };
}

function end(job, body) {
  const wrong = wrongBody(body, ["ending", "note"]);
  if (wrong) return wrong;
  if (job.end !== null) return { status: 409, problem: ["already-exists", "There is one already", `job ${job.id} ended at ${job.end}`, "Nothing was changed."] };
  return { status: 200, body: Object.assign(job, { end: iso(Date.now()), ending: body.ending ?? "ended", now: null }) };
}

const noFilm = (job) => ({ status: 404, problem: ["not-found", "There is no such thing here", `film: job ${job.id} has no film that is made`, "POST /api/v1/jobs/ID/film wants one; the job tells how far it is."] });

// {status, body} of a call below /api/v1/jobs; body undefined: 204.
export function jobsCall(world, person, method, id, act, query, body) {
  const sees = (name) => person.cameras === null || person.cameras.includes(name);
  if (method !== "GET" && person.role !== "owner") return { status: 403, problem: ["no-permission", "Not allowed", "Only an owner may do this.", "Ask an owner."] };
  if (method === "GET" && id === undefined) return page(world, query, sees);
  if (method === "POST" && id === undefined) return begin(world, body);
  const job = world.jobs.find((one) => String(one.id) === id && sees(one.camera));
  if (!job) return { status: 404, problem: ["not-found", "There is no such thing here", `job: there is no job "${id}"`, "GET /api/v1/jobs lists those there are."] };
  const call = `${method} ${act ?? ""}`;
  if (call === "GET ") {
    const now = job.now && { ...job.now, growth: { width: WIDE, height: HIGH, cells: grown().toString("base64") } };
    const after = query.get("steps_after") ?? "0";
    if (!/^\d{1,18}$/.test(after)) return invalid(`"steps_after" is "${after}"`, "Give the id of the last step that you know, a whole number from 0.");
    return { status: 200, body: { ...job, now, steps: stepsOf(job, world.steps[job.id]).filter((one) => one.id > Number(after)) } };
  }
  if (call === "PATCH ") return change(job, body);
  if (call === "POST end") return end(job, body);
  if (job.end === null && (call === "DELETE " || call === "POST film")) return busy(job);
  if (call === "DELETE ") return (world.jobs = world.jobs.filter((one) => one !== job)), { status: 204 };
  if (call === "GET film") return noFilm(job);
  const wrong = call === "POST film" ? wrongBody(body, ["length_s"]) : null;
  if (wrong) return wrong;
  if (call === "POST film") return { status: 202, body: Object.assign(job, { film: { state: "wanted", length_s: body.length_s ?? 30, progress: 0.2, bytes: 0, made_at: null, told: "" } }) };
  return { status: 404, problem: ["not-found", "Not found", `There is no ${act}.`, ""] };
}
