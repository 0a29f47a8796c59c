// What the fake station knows: people, cameras, exports, the time at which its archive began.
import { randomBytes } from "node:crypto";
import { makeEvents } from "./events.mjs";
import { makeFound } from "./found.mjs";
import { makeJobSettings } from "./job_settings.mjs";
import { makeJobs } from "./jobs.mjs";
import { makeNotices } from "./notices.mjs";
import { makeScenes } from "./pictures.mjs";

const HALL = [
  ["anvil", "Anvil, printer 1"],
  ["bobbin", "Bobbin, printer 2"],
  ["cog", "Cog, printer 3"],
  ["seedlings", "Seedling shelf"],
  ["counter", "Front counter"],
  ["back-door", "Back door"],
  ["kiln", "Kiln room"],
  ["loading-bay", "Loading bay"],
];

function makeStatus(name, n, now) {
  const received = 48_210 + n * 977;
  const rejected = n % 3 === 2 ? { "no-end": 41, "bad-restart": 7 } : {};
  const lost = Object.values(rejected).reduce((sum, x) => sum + x, 0);
  return {
    name,
    state: "live",
    since: new Date(now - 5_400_000).toISOString(),
    retry_at: null,
    last_error: null,
    last_frame_at: new Date(now).toISOString(),
    frames_per_s: 10 - n * 0.3,
    bytes_per_s: 251_000 - n * 7000,
    width_px: 640,
    height_px: 480,
    viewers: 1,
    viewers_skipped: 12,
    counters: { received, published: received - lost, rejected, rejected_parts: 0, bytes: received * 25_100, connects: 1 + (n % 4), lost: n % 4, dropouts: n % 4 },
    recorder: { taken: received - lost, written: received - lost - 3, lost: 0, queued: 3, bytes_written: received * 25_000 },
    event: null,
    events_ended: n,
    pre_roll: { frames: 0, bytes: 0, most_bytes: 0, seconds: 0 },
  };
}

function makeCamera([name, title], n, now) {
  return {
    name,
    title,
    source: n === 5 ? "pushed" : "stream",
    stream_address: n === 5 ? "" : `http://192.168.7.${20 + n}:81/stream`,
    still_address: "",
    user: "",
    has_password: false,
    poll_every_ms: 1000,
    enabled: true,
    record: "always",
    pre_roll_ms: 5000,
    post_roll_ms: 10_000,
    sensitivity: 3,
    mask: null,
    keep_for_h: null,
    keep_bytes: null,
    status: makeStatus(name, n, now),
  };
}

// Three cameras are not well, so that every kind of trouble is on the sheet.
function addTrouble(cameras, now) {
  const [, , , , , backDoor, kiln, bay] = cameras;
  Object.assign(backDoor.status, { state: "asleep", frames_per_s: 0, last_frame_at: new Date(now - 1_260_000).toISOString() });
  Object.assign(kiln.status, {
    state: "waiting",
    frames_per_s: 0,
    bytes_per_s: 0,
    retry_at: new Date(now + 14_000).toISOString(),
    last_frame_at: new Date(now - 95_000).toISOString(),
    last_error: {
      code: "unreachable",
      text: "kiln: connect to 192.168.7.26:81: no route to host. Check that the board has power and is on the network; the station tries again by itself.",
    },
  });
  Object.assign(bay.status, {
    state: "silent",
    frames_per_s: 0,
    last_frame_at: new Date(now - 7_000).toISOString(),
    last_error: { code: "timed-out", text: "loading-bay: no byte for 5 s. The board is at the edge of the radio's reach: move it or the access point." },
  });
}

// trouble: false makes all cameras live. began: ms, when recording began. Every switch may be changed while it runs.
export function makeWorld({ trouble = true, began = Date.now() - 40 * 3_600_000, cameras = HALL } = {}) {
  const now = Date.now();
  const list = cameras.map((entry, n) => makeCamera(entry, n, now));
  if (trouble && list.length === HALL.length) addTrouble(list, now);
  const sessions = new Map();
  const world = {
    scenes: makeScenes(),
    cameras: list,
    events: makeEvents(list, now),
    jobs: makeJobs(now),
    steps: {}, // by job, beside those that it has anyway (jobs.mjs)
    jobSettings: Object.fromEntries(list.map((camera) => [camera.name, makeJobSettings()])),
    ...makeNotices(now),
    found: makeFound(),
    began,
    startedAt: now,
    onceCode: randomBytes(12).toString("base64url"),
    sessions,
    people: [
      { name: "ida", role: "owner", cameras: null, password: "saltmarsh" },
      { name: "per", role: "viewer", cameras: ["counter", "back-door"], password: "counter-top" },
    ],
    tokens: [{ id: 1, camera: "anvil", label: "hall display", use: "watch", made_at: new Date(now - 8e8).toISOString(), last_used_at: new Date(now - 4000).toISOString() }],
    exports: new Map(),
    kept: [{ camera: "anvil", from: now - 5_000_000, to: now - 3_900_000 }],
    pages: new Set(), // open sockets
    failures: 0, // wrong passwords in a row
    refuseSockets: false,
    personOf: (request) => sessions.get(/rookery_session=([\w-]+)/.exec(request.headers.cookie ?? "")?.[1]),
    signIn: (person) => {
      const secret = randomBytes(24).toString("base64url");
      sessions.set(secret, person);
      return `rookery_session=${secret}; HttpOnly; SameSite=Strict; Path=/`;
    },
    indexOf: (name) => list.findIndex((camera) => camera.name === name),
    // The frame of a camera at a time: its scene, 10 frames a second, back and forth so that it has no jump.
    frameAt: (name, at) => {
      const n = list.findIndex((camera) => camera.name === name);
      const scene = world.scenes[Math.max(0, n) % world.scenes.length];
      const i = Math.floor(at / 100) % (2 * scene.length);
      return scene[i < scene.length ? i : 2 * scene.length - 1 - i];
    },
  };
  return world;
}
