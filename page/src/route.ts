// Places in the page, kept behind the "#" of the address: the station serves one page only.
import { parseTime, toRfc3339 } from "./time";

// What is known of a camera before it is added.
export interface GivenCamera {
  name: string;
  stream: string;
  still: string;
}

export type Route =
  | { is: "sheet" }
  | { is: "wall" }
  | { is: "camera"; name: string; at: number | null }
  | { is: "focus"; name: string }
  | { is: "add"; given: GivenCamera }
  | { is: "find" }
  | { is: "bench"; subject: string; given: Record<string, string> }
  | { is: "events" }
  | { is: "jobs" }
  | { is: "job"; id: number }
  | { is: "handover" }
  | { is: "notices" }
  | { is: "people" }
  | { is: "station" };

function decoded(name: string): string {
  try {
    return decodeURIComponent(name);
  } catch {
    return name; // a stray "%" typed by hand: take the text as it stands
  }
}

export function readRoute(hash: string): Route {
  const [path = "", query = ""] = hash.replace(/^#\/?/, "").split("?");
  const [head = "", name = ""] = path.split("/");
  if (head === "wall") return { is: "wall" };
  if (head === "notices") return { is: "notices" };
  if (head === "events") return { is: "events" };
  if (head === "jobs" && /^\d{1,15}$/.test(name)) return { is: "job", id: Number(name) };
  if (head === "jobs") return { is: "jobs" };
  if (head === "handover") return { is: "handover" };
  if (head === "people") return { is: "people" };
  if (head === "station") return { is: "station" };
  if (head === "find") return { is: "find" };
  if (head === "bench") return { is: "bench", subject: decoded(name), given: Object.fromEntries(new URLSearchParams(query)) };
  if (head === "add") {
    const given = new URLSearchParams(query);
    return { is: "add", given: { name: given.get("name") ?? "", stream: given.get("stream") ?? "", still: given.get("still") ?? "" } };
  }
  if (head === "camera" && name !== "") return { is: "camera", name: decoded(name), at: parseTime(new URLSearchParams(query).get("at")) };
  if (head === "focus" && name !== "") return { is: "focus", name: decoded(name) };
  return { is: "sheet" };
}

export function cameraLink(name: string, at: number | null = null): string {
  const base = `#/camera/${encodeURIComponent(name)}`;
  return at === null ? base : `${base}?at=${toRfc3339(at)}`;
}

export const jobLink = (id: number): string => `#/jobs/${id}`;
export const focusLink = (name: string): string => `#/focus/${encodeURIComponent(name)}`;

export function addLink(given: GivenCamera): string {
  return `#/add?${new URLSearchParams({ ...given }).toString()}`;
}

// A sum with the values that were typed: the address of a sum can be kept and sent.
export function benchLink(subject: string, given: Record<string, string> = {}): string {
  const query = new URLSearchParams(given).toString();
  return `#/bench/${encodeURIComponent(subject)}${query === "" ? "" : `?${query}`}`;
}

// The one-time sign-in code of `/#once=CODE`; null when there is none.
export function onceCode(hash: string): string | null {
  const m = /^#once=(.+)$/.exec(hash);
  return m?.[1] ? decodeURIComponent(m[1]) : null;
}
