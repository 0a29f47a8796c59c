// Calls about jobs that the station refuses, with the status each has. The real station and the stand-in are held to the
// same list, so that what passes against the one means something for the other.
import assert from "node:assert/strict";
import { faultsOfNamed } from "./schema.mjs";

const LONG = "n".repeat(65);
const hour = { days: 1, from_min: 0, length_min: 60 };
const bed = { x: 0.5, y: 0, w: 0.5, h: 1 };
const stop = { receiver: 0, signs: [], hold_s: 60 };

const SETTINGS = [
  "[]", "{", { colour: 1 }, { by_movement: 1 }, { still_every_s: 0 }, { still_every_s: 601 }, { still_every_s: "5" }, { still_after_s: 59 }, { still_after_s: 86_401 },
  { end_after_s: 59 }, { end_after_s: null }, { expected_s: 59 }, { expected_s: 2_678_401 }, { film_s: 0 }, { film_s: 3601 }, { keep_stills_h: 0 }, { keep_stills_h: 87_601 },
  { tell: "still" }, { tell: ["sneezed"] }, { bed: 1 }, { bed: { ...bed, w: 0.6 } }, { bed: { ...bed, w: 0.01 } }, { bed: { ...bed, x: -0.1 } }, { bed: { x: 0, y: 0, w: 1 } }, { bed: { ...bed, z: 0 } },
  { hours: hour }, { hours: Array(51).fill(hour) }, { hours: [{ ...hour, days: 0 }] }, { hours: [{ ...hour, days: 128 }] }, { hours: [{ ...hour, from_min: 1440 }] }, { hours: [{ ...hour, length_min: 0 }] },
  { hours: [{ days: 1, from_min: 0 }] }, { hours: [{ ...hour, until: 3 }] },
  { stop: { ...stop, signs: ["finished"] } }, { stop: { ...stop, hold_s: 9 } }, { stop: { ...stop, hold_s: 3601 } }, { stop: { ...stop, receiver: -1 } }, { stop: { ...stop, receiver: 4711 } }, { stop: { receiver: 0, signs: [] } }, { stop: null },
  { still_every_s: 7, film_s: 0 }, // all or nothing
];

// `busy` and `free` are cameras with and without a job under way; `under` and `over` are jobs.
function refusals({ busy, free, under, over }) {
  const jobs = "api/v1/jobs";
  const expected = [59, 2_678_401, 90.5, "90", null];
  return [
    ...["[]", "{", "", {}, { camera: free, colour: 1 }, { camera: free, label: LONG }, { camera: free, label: "a\tb" }, { camera: free, label: " a" }, { camera: free, label: 3 }].map((body) => [422, "POST", jobs, body]),
    ...expected.map((expected_s) => [422, "POST", jobs, { camera: free, expected_s }]),
    [404, "POST", jobs, { camera: "no-such" }],
    [409, "POST", jobs, { camera: busy }],
    ...["limit=0", "limit=501", "limit=x", "under_way=maybe", "before=x"].map((query) => [422, "GET", `${jobs}?${query}`]),
    [404, "GET", `${jobs}?camera=no-such`],
    ...["999999", "x", "99999999999999999999"].map((id) => [404, "GET", `${jobs}/${id}`]),
    ...["steps_after=x", "steps_after=-1", "steps_after=", "steps_after=1.5"].map((query) => [422, "GET", `${jobs}/${under}?${query}`]),
    [404, "PATCH", `${jobs}/999999`, { good: true }],
    ...["[]", { good: 3 }, { colour: 1 }, { label: LONG }, { label: "a\tb" }, { label: null }, { expected_s: 59 }, { expected_s: 90.5 }, { expected_s: "90" }].map((body) => [422, "PATCH", `${jobs}/${over}`, body]),
    [409, "POST", `${jobs}/${over}/end`, {}],
    ...["[]", { ending: "burnt" }, { note: 3 }, { colour: 1 }].map((body) => [422, "POST", `${jobs}/${under}/end`, body]),
    [404, "POST", `${jobs}/999999/end`, {}],
    [409, "DELETE", `${jobs}/${under}`],
    [404, "DELETE", `${jobs}/999999`],
    [409, "POST", `${jobs}/${under}/film`, {}],
    ...[{ length_s: 0 }, { length_s: 3601 }, { length_s: "30" }, { colour: 1 }].map((body) => [422, "POST", `${jobs}/${over}/film`, body]),
    [404, "GET", `${jobs}/${under}/film`],
    [422, "GET", `${jobs}/${under}/still.jpg`],
    [422, "GET", `${jobs}/${under}/still.jpg?at=noon`],
    [404, "GET", `${jobs}/${under}/still.jpg?at=2001-01-01T00:00:00Z`],
    ...SETTINGS.map((body) => [422, "PATCH", `api/v1/cameras/${free}/job-settings`, body]),
    [404, "GET", "api/v1/cameras/no-such/job-settings"],
    [404, "PATCH", "api/v1/cameras/no-such/job-settings", {}],
  ];
}

// As a program of this person would call: by the tab's cookies, with the Origin of the page.
export async function callAs(context, base, method, path, body) {
  const data = typeof body === "object" ? JSON.stringify(body) : body;
  return await context.request.fetch(base + path, { method, headers: { Origin: new URL(base).origin, "Content-Type": "application/json" }, ...(data === undefined ? {} : { data }) });
}

// Every one is refused as it should be, in words, and changes nothing.
export async function assertRefused(context, base, which) {
  const settings = async () => (await callAs(context, base, "GET", `api/v1/cameras/${which.free}/job-settings`)).json();
  const before = await settings();
  const wrong = [];
  for (const [status, method, path, body] of refusals(which)) {
    const answer = await callAs(context, base, method, path, body);
    const said = `${method} ${path} ${JSON.stringify(body) ?? ""}`;
    if (answer.status() !== status) wrong.push(`${said}: ${answer.status()}, not ${status}`);
    else {
      const problem = await answer.json();
      wrong.push(...faultsOfNamed("Problem", problem).map((fault) => `${said}: ${fault}`));
      if (!problem.detail || !problem.remedy) wrong.push(`${said}: it does not say what to do`);
    }
  }
  assert.deepEqual(wrong, []);
  assert.deepEqual(await settings(), before);
}

// What is answered is as the description says.
export async function assertDescribed(context, base, { free, under, over }) {
  for (const [name, path] of [
    ["Jobs", "api/v1/jobs"],
    ["JobWithSteps", `api/v1/jobs/${under}`],
    ["JobWithSteps", `api/v1/jobs/${over}`],
    ["JobWithSteps", `api/v1/jobs/${over}?steps_after=1`],
    ["JobSettings", `api/v1/cameras/${free}/job-settings`],
  ]) {
    assert.deepEqual(faultsOfNamed(name, await (await callAs(context, base, "GET", path)).json()), [], path);
  }
}

// Collects what the page itself sends about jobs that its station does not take by its description.
export function watchSent(tab) {
  const sent = [];
  const described = [
    ["POST", /\/api\/v1\/jobs$/, "NewJob"],
    ["PATCH", /\/api\/v1\/jobs\/\d+$/, "JobChange"],
    ["POST", /\/api\/v1\/jobs\/\d+\/end$/, "JobEnd"],
    ["POST", /\/api\/v1\/jobs\/\d+\/film$/, "NewFilm"],
    ["PATCH", /\/job-settings$/, "JobSettingsChange"],
  ];
  tab.on("request", (request) => {
    const [, , name] = described.find(([method, address]) => method === request.method() && address.test(request.url())) ?? [];
    if (name) sent.push({ name, body: request.postDataJSON(), faults: faultsOfNamed(name, request.postDataJSON()) });
  });
  return sent;
}
