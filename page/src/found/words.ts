// Found boards in order and in words. Pure.
import type { Found } from "../types";

// What a person came for first: new cameras, then what may be one, then those that are known, then the rest.
const rank = (one: Found): number => {
  if (one.camera?.moved) return 0;
  if (one.camera) return 3;
  if (one.answers?.kind === "camera") return 0;
  if (one.answers?.kind === "no-camera") return 4;
  return one.answers?.kind === "wants-sign-in" || one.answers?.kind === "busy" ? 1 : 2;
};

export function byNeed(found: Found[]): Found[] {
  return [...found].sort((a, b) => rank(a) - rank(b) || (a.name ?? "").localeCompare(b.name ?? "", undefined, { numeric: true }));
}

// "192.0.2.17, port 80 · bobbin.local".
export function placeText(one: Found): string {
  const addresses = one.addresses.length === 0 ? "its address was not answered" : one.addresses.join(", ");
  const ports = one.ports.length === 0 ? "" : `, ${one.ports.length === 1 ? "port" : "ports"} ${one.ports.join(", ")}`;
  return `${addresses}${ports}${one.host ? ` · ${one.host}` : ""}`;
}
