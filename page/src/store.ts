// What the whole page knows: who is signed in, the cameras, their status, the station's clock.
import { computed, signal, type Signal } from "@preact/signals";
import { asProblem, call, Problem, whenSignedOut } from "./api";
import { LiveSocket } from "./live/socket";
import type { FromStation } from "./live/wire";
import { readRoute, type Route } from "./route";
import { parseTime } from "./time";
import type { Camera, Me, StationFacts, Status } from "./types";

export type Session = { is: "asking" } | { is: "out"; why: string } | { is: "in"; me: Me } | { is: "unknown"; problem: Problem };

export const session = signal<Session>({ is: "asking" });
export const route = signal<Route>(readRoute(location.hash));
export const cameras = signal<Camera[] | null>(null);

// What people call it; its name where it has no title or is gone.
export const cameraTitle = (name: string): string => cameras.value?.find((camera) => camera.name === name)?.title || name;
export const camerasProblem = signal<Problem | null>(null);
export const station = signal<StationFacts | null>(null);
export const me = computed(() => (session.value.is === "in" ? session.value.me : null));
export const isOwner = computed(() => me.value?.role === "owner");

export const live = new LiveSocket();

// The station's clock as seen from here, and a tick each second for ages and the "now" line.
let clockOffset = 0;
export const stationNow = (): number => Date.now() + clockOffset;
export const tick = signal(stationNow());
window.setInterval(() => {
  if (document.visibilityState === "visible") tick.value = stationNow();
}, 1000);

function setClock(now: string): void {
  const at = parseTime(now);
  if (at === null) return;
  clockOffset = at - Date.now();
  tick.value = stationNow();
}

// One signal a camera, so that a row redraws for its own camera only.
const statuses = new Map<string, Signal<Status | null>>();
export function statusOf(name: string): Signal<Status | null> {
  let found = statuses.get(name);
  if (!found) {
    found = signal<Status | null>(null);
    statuses.set(name, found);
  }
  return found;
}

// Numbers of the line above the sheet: counted once a second, not on each change.
export const liveCount = computed(() => {
  tick.value;
  return (cameras.value ?? []).filter((camera) => statusOf(camera.name).value?.state === "live").length;
});

export function takeCamera(camera: Camera): void {
  statusOf(camera.name).value = camera.status;
  const list = cameras.value ?? [];
  const known = list.some((one) => one.name === camera.name);
  cameras.value = known ? list.map((one) => (one.name === camera.name ? camera : one)) : [...list, camera];
}

export function forgetCamera(name: string): void {
  statusOf(name).value = null;
  cameras.value = (cameras.value ?? []).filter((camera) => camera.name !== name);
}

export async function loadCameras(): Promise<void> {
  try {
    const answer = await call<{ cameras: Camera[] }>("/api/v1/cameras");
    for (const camera of answer.cameras) statusOf(camera.name).value = camera.status;
    cameras.value = answer.cameras;
    camerasProblem.value = null;
  } catch (error) {
    camerasProblem.value = asProblem(error);
  }
}

export async function loadStation(): Promise<void> {
  const facts = await call<StationFacts>("/api/v1/station");
  station.value = facts;
  setClock(facts.now);
}

// Troubles of the station as a whole (a full disk, a wrong clock) show on every page, so the facts are read again now
// and then; when that fails, the line about the connection says so.
const FACTS_MS = 30_000;
window.setInterval(() => {
  if (document.visibilityState === "visible" && session.value.is === "in") void loadStation().catch(() => {});
}, FACTS_MS);

function forgetAllBut(names: Set<string>): void {
  for (const camera of cameras.value ?? []) {
    if (!names.has(camera.name)) forgetCamera(camera.name);
  }
}

function takeMessage(message: FromStation): void {
  if (message.is === "hello") setClock(message.now);
  // A camera on the screen was removed; one of the same name may be there again, with other settings.
  if (message.is === "problem" && message.slot !== undefined && message.problem.code === "not-found") void loadCameras();
  if (message.is !== "status") return;
  if (message.names) forgetAllBut(new Set(message.names));
  let unknown = false;
  const known = new Set((cameras.value ?? []).map((camera) => camera.name));
  for (const status of message.cameras) {
    statusOf(status.name).value = status;
    unknown ||= cameras.value !== null && !known.has(status.name);
  }
  // A camera that was added elsewhere: fetch the list once more.
  if (unknown) void loadCameras();
}

// The cookie is hidden from scripts, so this browser remembers that somebody signed in: without it, the first look
// would be a request that can only be refused.
const SIGNED_IN = "rookery.signed-in";
function rememberSignIn(signedIn: boolean): void {
  try {
    if (signedIn) localStorage.setItem(SIGNED_IN, "1");
    else localStorage.removeItem(SIGNED_IN);
  } catch {
    // no storage in this browser: the station is asked each time
  }
}
export function maybeSignedIn(): boolean {
  try {
    return localStorage.getItem(SIGNED_IN) !== null;
  } catch {
    return true;
  }
}

export function signedOut(why: string): void {
  rememberSignIn(false);
  live.close();
  cameras.value = null;
  station.value = null;
  session.value = { is: "out", why };
}

// Asks who is signed in and starts everything that follows from it.
export async function findSession(): Promise<void> {
  try {
    const who = await call<Me>("/api/v1/me", { quiet401: true });
    session.value = { is: "in", me: who };
    rememberSignIn(true);
    live.open();
    void loadCameras();
    void loadStation().catch(() => {});
  } catch (error) {
    const problem = asProblem(error);
    if (problem.status === 401) signedOut("");
    else session.value = { is: "unknown", problem };
  }
}

export async function signOut(): Promise<void> {
  await call("/api/v1/sign-out", { method: "POST" });
  signedOut("You are signed out.");
}

live.onMessage = takeMessage;
live.onRefused = async () => {
  try {
    await call<Me>("/api/v1/me", { quiet401: true });
    return true;
  } catch (error) {
    if (asProblem(error).status !== 401) return true;
    signedOut("Your sign-in has ended. Please sign in again.");
    return false;
  }
};
whenSignedOut(() => {
  if (session.value.is === "in") signedOut("Your sign-in has ended. Please sign in again.");
});
window.addEventListener("hashchange", () => {
  route.value = readRoute(location.hash);
});
