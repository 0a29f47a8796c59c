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
  | { is: "add"; given: GivenCamera }
  | { is: "find" }
  | { is: "events" }
  | { is: "notices" }
  | { is: "people" }
  | { is: "station" };

export function readRoute(hash: string): Route {
  const [path = "", query = ""] = hash.replace(/^#\/?/, "").split("?");
  const [head = "", name = ""] = path.split("/");
  if (head === "wall") return { is: "wall" };
  if (head === "notices") return { is: "notices" };
  if (head === "events") return { is: "events" };
  if (head === "people") return { is: "people" };
  if (head === "station") return { is: "station" };
  if (head === "find") return { is: "find" };
  if (head === "add") {
    const given = new URLSearchParams(query);
    return { is: "add", given: { name: given.get("name") ?? "", stream: given.get("stream") ?? "", still: given.get("still") ?? "" } };
  }
  if (head === "camera" && name !== "") {
    let decoded = name;
    try {
      decoded = decodeURIComponent(name);
    } catch {
      // a stray "%" typed by hand: take the text as it stands
    }
    return { is: "camera", name: decoded, at: parseTime(new URLSearchParams(query).get("at")) };
  }
  return { is: "sheet" };
}

export function cameraLink(name: string, at: number | null = null): string {
  const base = `#/camera/${encodeURIComponent(name)}`;
  return at === null ? base : `${base}?at=${toRfc3339(at)}`;
}

export function addLink(given: GivenCamera): string {
  return `#/add?${new URLSearchParams({ ...given }).toString()}`;
}

// The one-time sign-in code of `/#once=CODE`; null when there is none.
export function onceCode(hash: string): string | null {
  const m = /^#once=(.+)$/.exec(hash);
  return m?.[1] ? decodeURIComponent(m[1]) : null;
}
