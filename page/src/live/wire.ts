// The socket's messages: the head of a picture and the JSON texts (docs/formats/live-socket.md).
import type { ProblemBody, Status } from "../types";

export const PICTURE_HEAD = 20;

export interface Picture {
  kind: "live" | "playback";
  slot: number;
  serial: number;
  at: number; // ms since 1970, with microseconds as a fraction
  width: number;
  height: number;
  jpeg: Uint8Array; // a view into the message
}

// Null when the message is no picture of this version.
export function readPicture(message: ArrayBuffer): Picture | null {
  if (message.byteLength <= PICTURE_HEAD) return null;
  const view = new DataView(message);
  if (view.getUint8(0) !== 1) return null;
  const kind = view.getUint8(1);
  if (kind !== 1 && kind !== 2) return null;
  return {
    kind: kind === 1 ? "live" : "playback",
    slot: view.getUint16(2),
    serial: view.getUint32(4),
    at: Number(view.getBigUint64(8)) / 1000,
    width: view.getUint16(16),
    height: view.getUint16(18),
    jpeg: new Uint8Array(message, PICTURE_HEAD),
  };
}

export interface ShowEntry {
  camera: string;
  slot: number;
  width_px: number;
}

export type ToStation =
  | { do: "show"; cameras: ShowEntry[] }
  | { do: "ack"; serial: number }
  | { do: "play"; slot: number; camera: string; at: string; speed: number; width_px: number }
  | { do: "pause"; slot: number }
  | { do: "step"; slot: number; frames: number }
  | { do: "stop"; slot: number };

export type FromStation =
  | { is: "hello"; version: string; now: string }
  | { is: "status"; names?: string[]; cameras: Status[] }
  | { is: "playing"; slot: number; at: string; speed: number }
  | { is: "gap"; slot: number; from: string; to: string }
  | { is: "paused"; slot: number; at: string }
  | { is: "end"; slot: number; at: string; reason: string }
  | { is: "problem"; slot?: number; problem: ProblemBody };

// Null for what is not a message of ours; unknown kinds are left to later versions and skipped.
export function readMessage(text: string): FromStation | null {
  try {
    const value: unknown = JSON.parse(text);
    if (typeof value !== "object" || value === null || !("is" in value)) return null;
    return value as FromStation;
  } catch {
    return null;
  }
}
