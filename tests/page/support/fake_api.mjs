// The calls of docs/api.md that the page makes, answered from a made-up world.
import { listEvents } from "./events.mjs";
import { changedSettings } from "./job_settings.mjs";
import { jobsCall } from "./jobs.mjs";
import { noticesOf } from "./notices.mjs";
import { dropoutsAnswer } from "./dropouts.mjs";
import { spansOf, stripOf } from "./strips.mjs";
import { vitalsOf } from "./vitals.mjs";

const json = (response, status, body, headers = {}) => {
  response.writeHead(status, { "Content-Type": status >= 400 ? "application/problem+json" : "application/json", ...headers });
  response.end(body === undefined ? undefined : JSON.stringify(body));
};
const done = (response, headers = {}) => {
  response.writeHead(204, headers);
  response.end();
};
const problem = (response, status, code, title, detail, remedy, headers = {}) =>
  json(response, status, { type: `/problems/${code}`, title, status, detail, remedy, code }, headers);

async function bodyOf(request) {
  let text = "";
  for await (const part of request) text += part;
  return text === "" ? {} : JSON.parse(text);
}

// The same, but null for what is no JSON, as nothing is.
async function bodyOrNone(request) {
  let text = "";
  for await (const part of request) text += part;
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}

const spansText = (spans) => spans.map((s) => ({ from: new Date(s.from).toISOString(), to: new Date(s.to).toISOString() }));

function signIn(world, response, body) {
  if (world.failures >= 3) {
    return problem(response, 429, "busy", "Too many tries", "Three wrong sign-ins in a row.", "Wait, then try again.", { "Retry-After": "12" });
  }
  const person = world.people.find((one) => one.name === body.name && one.password === body.password);
  if (!person) {
    world.failures += 1;
    return problem(response, 401, "no-permission", "Not signed in", "Name or password is wrong.", "Check both; an owner can set a new password.");
  }
  world.failures = 0;
  done(response, { "Set-Cookie": world.signIn(person) });
}

function signInOnce(world, response, body) {
  if (body.code !== world.onceCode || world.onceUsed) {
    return problem(response, 401, "no-permission", "This sign-in is used up", "The address signs in once, and it has done so.", "Sign in with name and password.");
  }
  world.onceUsed = true;
  done(response, { "Set-Cookie": world.signIn(world.people[0]) });
}

const maySee = (person, name) => person.cameras === null || person.cameras.includes(name);

function stationFacts(world) {
  return {
    version: "0.1.0",
    started_at: new Date(world.startedAt).toISOString(),
    now: new Date().toISOString(),
    archive: { bytes: 184_000_000_000, free_bytes: 612_000_000_000, keep_free_bytes: 40_000_000_000, oldest: new Date(world.began).toISOString(), ages_count_by: new Date().toISOString() },
    exports: { bytes: 25_000_000, most_bytes: 4_294_967_296 },
    catalog: { written: 4210, replaced: 17, given_up: world.givenUp ?? 0, waiting: 0 },
    flushes: { late: 0, longest_ms: 0 },
    viewers: 2,
    troubles: world.troubles ?? [],
  };
}

function recordings(world, name, from, to) {
  const now = Date.now();
  const kept = world.kept.filter((span) => span.camera === name && span.to > from && span.from < to);
  return {
    spans: spansText(spansOf(from, to, world.began, now)),
    kept: spansText(kept),
    first: new Date(world.began).toISOString(),
    last: new Date(now).toISOString(),
  };
}

// A refusal that the test has laid ready (world.refusal) is what the station answers next to a camera's settings.
function refuse(world, response) {
  const { status, code, title, detail, remedy } = world.refusal;
  world.refusal = null;
  problem(response, status, code, title, detail, remedy);
}

async function jobSettingsCall(world, person, request, response, name) {
  if (request.method === "GET") return json(response, 200, world.jobSettings[name]);
  if (person.role !== "owner") return problem(response, 403, "no-permission", "Not allowed", "Only an owner may do this.", "Ask an owner.");
  const { settings, refused } = changedSettings(world.jobSettings[name], await bodyOrNone(request));
  if (refused) return problem(response, 422, "invalid-value", "Not allowed", `job settings: "${refused}": outside its range`, "docs/api.md names those there are.");
  const asked = settings.stop.receiver;
  // Only where it is to change: one that was removed later is a trouble, and no reason to refuse the rest.
  if (asked !== 0 && settings.stop !== world.jobSettings[name].stop && world.receivers.every((one) => one.id !== asked))
    return problem(response, 422, "invalid-value", "Not allowed", `job settings: "stop.receiver": there is no receiver ${asked}`, "GET /api/v1/receivers lists those there are.");
  json(response, 200, (world.jobSettings[name] = settings));
}

async function cameraCall(world, person, request, response, url, camera, rest) {
  const n = world.indexOf(camera.name);
  const from = Date.parse(url.searchParams.get("from") ?? "");
  const to = Date.parse(url.searchParams.get("to") ?? "");
  const call = `${request.method} ${rest}`;
  if (call === "GET ") return json(response, 200, camera);
  if (call === "PATCH " && world.refusal) return refuse(world, response);
  if (call === "PATCH ") return json(response, 200, Object.assign(camera, await bodyOf(request)));
  if (call === "DELETE ") return world.cameras.splice(n, 1), done(response);
  if (call === "GET strip") return json(response, 200, stripOf(n, from, to, world.began, Date.now()));
  if (call === "GET dropouts") return json(response, 200, dropoutsAnswer(n, world.began, Number(url.searchParams.get("limit")), url.searchParams.get("before")));
  if (call === "GET vitals") return json(response, 200, vitalsOf(n, from, to, Date.now()));
  if (call === "GET recordings") return json(response, 200, recordings(world, camera.name, from, to));
  if (call === "GET recorded.jpg") {
    response.writeHead(200, { "Content-Type": "image/jpeg" });
    return response.end(world.frameAt(camera.name, Date.parse(url.searchParams.get("at"))).jpeg);
  }
  if (call === "PUT kept") return keep(world, response, camera.name, await bodyOf(request));
  if (rest === "job-settings") return jobSettingsCall(world, person, request, response, camera.name);
  if (call === "GET tokens") return json(response, 200, { tokens: world.tokens.filter((token) => token.camera === camera.name).map(({ secret, ...shown }) => shown) });
  if (call === "POST tokens") return makeToken(world, response, camera.name, await bodyOf(request));
  if (request.method === "DELETE" && rest.startsWith("tokens/")) {
    world.tokens = world.tokens.filter((token) => String(token.id) !== rest.slice(7));
    return done(response);
  }
  problem(response, 404, "not-found", "No such page", url.pathname, "");
}

function keep(world, response, camera, body) {
  const span = { camera, from: Date.parse(body.from), to: Date.parse(body.to) };
  world.kept = world.kept.filter((one) => one.camera !== camera || one.to < span.from || one.from > span.to);
  if (body.kept) world.kept.push(span);
  json(response, 200, { segments: 2 });
}

function makeToken(world, response, camera, body) {
  const id = world.tokens.length + 1;
  const token = `fake${id}${"x".repeat(39)}`;
  world.tokens.push({ id, camera, secret: token, label: body.label, use: body.use, made_at: new Date().toISOString(), last_used_at: null });
  json(response, 201, { id, token, live_jpg: `/live/${camera}.jpg?token=${token}`, live_mjpeg: `/live/${camera}.mjpeg?token=${token}` });
}

function addCamera(world, response, body) {
  if (world.refusal) return refuse(world, response);
  if (world.indexOf(body.name) >= 0) {
    return problem(response, 409, "already-exists", "There is one already", `There is a camera “${body.name}” already.`, "Choose another name.");
  }
  const status = { ...structuredClone(world.cameras[0].status), name: body.name, state: "connecting", last_frame_at: null, frames_per_s: 0 };
  const camera = { ...body, has_password: Boolean(body.password), status };
  delete camera.password;
  world.cameras.push(camera);
  json(response, 201, camera);
}

// An export takes four looks to be done.
function startExport(world, response, body, kind) {
  const id = `e${world.exports.size + 1}`;
  const job = { id, kind, lapse: null, ...body, state: "waiting", progress: 0, bytes: null, frames: null, file_name: `${body.camera} ${body.from}.${body.format === "matroska" ? "mkv" : body.format}`, problem: null };
  world.exports.set(id, job);
  json(response, 202, job);
}

function exportCall(world, request, response, id, rest) {
  const job = world.exports.get(id);
  if (!job) return problem(response, 404, "not-found", "No such export", id, "Start it again.");
  if (request.method === "DELETE") return world.exports.delete(id), done(response);
  if (rest === "file") {
    response.writeHead(200, { "Content-Type": "video/x-matroska", "Content-Disposition": `attachment; filename="${job.file_name}"` });
    return response.end(Buffer.from("not a real file, the fake station has no recordings"));
  }
  job.progress = Math.min(1, job.progress + 0.26);
  job.state = job.progress >= 1 ? "done" : "working";
  if (job.state === "done") Object.assign(job, { bytes: 25_000_000, frames: 1200 });
  if (job.state === "done" && job.kind === "lapse") job.lapse = { length_s: job.length_s, speed: 960, pictures: 28_800, damaged: 0, empty: 3, dark: 0, steadied: 1, limited: 0, resized: 0, earlier: 0, gone: 0, wanted: 750, quieted: 750, chosen: true, steady: true, remark: "", cuts: [{ film_s: 12.4, why: "the camera was knocked by 60 px" }] };
  json(response, 200, job);
}

async function eventCall(world, request, response, id, rest) {
  const event = world.events.find((one) => String(one.id) === id);
  if (!event) return problem(response, 404, "not-found", "No such event", id, "");
  if (rest === "still.jpg") {
    if (!event.still) return problem(response, 404, "not-found", "Not recorded", id, "");
    response.writeHead(200, { "Content-Type": "image/jpeg" });
    return response.end(world.frameAt(event.camera, Date.parse(event.best_at)).jpeg);
  }
  if (request.method === "PATCH") Object.assign(event, await bodyOf(request));
  json(response, 200, event);
}

async function noticesCall(world, request, response, head, id, act) {
  const answer = noticesOf(world, `${request.method} ${head}`, id, act, request.method === "GET" || request.method === "DELETE" ? {} : await bodyOf(request));
  if (answer === null) return problem(response, 404, "not-found", "Not found", `There is no ${head} ${id}.`, "Read the list again.");
  if (answer === undefined) return done(response);
  json(response, 200, answer);
}

async function jobCall(world, person, request, response, url, id, act) {
  const job = world.jobs.find((one) => String(one.id) === id && maySee(person, one.camera));
  if (job && act === "still.jpg") {
    const at = Date.parse(url.searchParams.get("at") ?? "");
    if (Number.isNaN(at)) return problem(response, 422, "invalid-value", "A value is not allowed", 'query: "at" is no time', "Add at=2026-03-01T12:00:00Z.");
    if (!(at >= world.began)) return problem(response, 404, "not-found", "There is no such thing here", `${job.camera}: nothing is recorded at or before that`, "Look whether it was removed or is written otherwise.");
    response.writeHead(200, { "Content-Type": "image/jpeg" });
    return response.end(world.frameAt(job.camera, Date.parse(url.searchParams.get("at"))).jpeg);
  }
  const sent = request.method === "POST" || request.method === "PATCH" ? await bodyOrNone(request) : {};
  const answer = jobsCall(world, person, request.method, id, act, url.searchParams, sent);
  if (answer.problem) return problem(response, answer.status, ...answer.problem);
  if (answer.body === undefined) return done(response);
  json(response, answer.status, answer.body);
}

async function peopleCall(world, request, response, name) {
  const call = request.method;
  if (call === "GET") return json(response, 200, { people: world.people.map(({ password, ...shown }) => shown) });
  const body = call === "DELETE" ? {} : await bodyOf(request);
  if (call === "POST") {
    if (world.people.some((one) => one.name.toLowerCase() === body.name.toLowerCase())) {
      return problem(response, 409, "already-exists", "There is one already", `“${body.name}” may sign in already.`, "Choose another name.");
    }
    world.people.push(body);
    return json(response, 201, { name: body.name, role: body.role, cameras: body.cameras });
  }
  const person = world.people.find((one) => one.name === name);
  if (!person) return problem(response, 404, "not-found", "No such person", name, "");
  if (call === "DELETE") return (world.people = world.people.filter((one) => one !== person)), done(response);
  if (body.old_password !== undefined && body.old_password !== person.password) {
    return problem(response, 403, "no-permission", "Not changed", "The password now is wrong.", "Type the password with which you signed in.");
  }
  Object.assign(person, body);
  done(response);
}

export async function api(world, request, response, url) {
  const path = url.pathname.replace(/^\/api\/v1\//, "");
  const post = request.method === "POST";
  if (post && path === "sign-in") return signIn(world, response, await bodyOf(request));
  if (post && path === "sign-in/once") return signInOnce(world, response, await bodyOf(request));
  const person = world.personOf(request);
  if (!person) return problem(response, 401, "no-permission", "Not signed in", "This needs a sign-in.", "Sign in first.");
  if (post && path === "sign-out") return world.sessions.forEach((one, key) => one === person && world.sessions.delete(key)), done(response);
  if (path === "me") return json(response, 200, { name: person.name, role: person.role, cameras: person.cameras });
  if (path === "station") return json(response, 200, stationFacts(world));
  if (path === "station/confirm-clock") {
    world.troubles = (world.troubles ?? []).filter((trouble) => trouble.kind !== "clock");
    return done(response);
  }
  if (path === "found") return json(response, 200, world.found);
  if (post && path === "found/sweep") return (world.found.sweeping = true), done(response);
  if (path === "cameras") {
    if (post) return addCamera(world, response, await bodyOf(request));
    return json(response, 200, { cameras: world.cameras.filter((camera) => maySee(person, camera.name)) });
  }
  const [head, name, ...rest] = path.split("/").map(decodeURIComponent);
  if (path === "events") return json(response, 200, listEvents(world, url.searchParams, (camera) => maySee(person, camera)));
  if (head === "events") return eventCall(world, request, response, name, rest.join("/"));
  if (["receivers", "rules", "notices", "snooze"].includes(head)) return noticesCall(world, request, response, head, name, rest[0]);
  if (head === "jobs") return jobCall(world, person, request, response, url, name, rest[0]);
  if (head === "people") return peopleCall(world, request, response, name);
  if (head === "lapses") return startExport(world, response, await bodyOf(request), "lapse");
  if (head === "exports") return post ? startExport(world, response, await bodyOf(request), "export") : exportCall(world, request, response, name, rest[0]);
  const camera = world.cameras.find((one) => one.name === name && maySee(person, name));
  if (head === "cameras" && camera) return cameraCall(world, person, request, response, url, camera, rest.join("/"));
  problem(response, 404, "not-found", "There is no such thing here", `There is no ${url.pathname}.`, "Go back to the sheet.");
}
