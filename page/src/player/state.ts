// What playback is doing, as a function of what the person asked and what the station said. No socket, no clock.
import type { FromStation, ToStation } from "../live/wire";
import { parseTime, toRfc3339 } from "../time";

export const SPEEDS = [0.25, 0.5, 1, 2, 4, 8, 16, 64] as const;
export type Speed = (typeof SPEEDS)[number];

export type Mode = "live" | "playing" | "paused";

export interface PlayerState {
  mode: Mode;
  at: number | null; // time of the picture shown, ms; null while live or before the first one
  speed: Speed;
  forward: boolean;
  waiting: boolean; // what is on the screen is older than what was asked for
  holdAfterPicture: boolean; // a moment was asked for while paused: show its picture, then stand
  note: PlayerNote | null;
}

export type PlayerNote =
  | { is: "gap"; from: number; to: number }
  | { is: "end"; reason: string }
  | { is: "problem"; title: string; detail: string; remedy: string };

export type Wish =
  | { do: "live" }
  | { do: "seek"; at: number; play: boolean }
  | { do: "play" }
  | { do: "pause" }
  | { do: "turn"; forward: boolean }
  | { do: "speed"; speed: Speed }
  | { do: "step"; frames: number };

// Messages without the slot and the camera, which the socket's side adds.
export type Order =
  | { do: "play"; at: string; speed: number }
  | { do: "pause" }
  | { do: "step"; frames: number }
  | { do: "stop" };

export interface Next {
  state: PlayerState;
  orders: Order[];
}

export const AT_LIVE: PlayerState = {
  mode: "live",
  at: null,
  speed: 1,
  forward: true,
  waiting: false,
  holdAfterPicture: false,
  note: null,
};

const playOrder = (state: PlayerState, at: number): Order => ({
  do: "play",
  at: toRfc3339(at),
  speed: state.forward ? state.speed : -state.speed,
});

const stay = (state: PlayerState): Next => ({ state, orders: [] });

function playFrom(state: PlayerState, at: number): Next {
  const next: PlayerState = { ...state, mode: "playing", at, waiting: true, holdAfterPicture: false, note: null };
  return { state: next, orders: [playOrder(next, at)] };
}

// A picture of the moment, standing. The station plays from there and is told to pause as soon as it came.
function standAt(state: PlayerState, at: number): Next {
  const next: PlayerState = { ...state, mode: "paused", at, waiting: true, holdAfterPicture: true, note: null };
  return { state: next, orders: [playOrder({ ...next, forward: true, speed: 1 }, at)] };
}

// now: where playback starts when the person leaves the live picture.
export function wish(state: PlayerState, wanted: Wish, now: number): Next {
  const here = state.at ?? now;
  switch (wanted.do) {
    case "live":
      if (state.mode === "live") return stay(state);
      return { state: { ...AT_LIVE, speed: state.speed }, orders: [{ do: "stop" }] };
    case "seek":
      return wanted.play ? playFrom(state, wanted.at) : standAt(state, wanted.at);
    case "play":
      return state.mode === "playing" ? stay(state) : playFrom(state, here);
    case "pause":
      if (state.mode === "live") return standAt(state, now);
      if (state.mode === "paused") return stay(state);
      if (state.waiting) return hold(state);
      return { state: { ...state, mode: "paused" }, orders: [{ do: "pause" }] };
    case "turn":
      return playFrom({ ...state, forward: wanted.forward }, here);
    case "speed": {
      const next = { ...state, speed: wanted.speed };
      return state.mode === "playing" ? playFrom(next, here) : stay(next);
    }
    case "step":
      return step(state, wanted.frames, now);
  }
}

// Asked to stand before the first picture came: it is shown first, or the old one would stand under the new time.
const hold = (state: PlayerState): Next => stay({ ...state, mode: "paused", holdAfterPicture: true });

function step(state: PlayerState, frames: number, now: number): Next {
  if (state.mode === "live") return standAt(state, now);
  if (state.waiting) return hold(state);
  const orders: Order[] = state.mode === "playing" ? [{ do: "pause" }] : [];
  return { state: { ...state, mode: "paused", note: null }, orders: [...orders, { do: "step", frames }] };
}

// A picture of playback was drawn.
export function drew(state: PlayerState, at: number): Next {
  if (state.mode === "live") return stay(state);
  const next = { ...state, at, waiting: false };
  if (!state.holdAfterPicture) return stay(next);
  return { state: { ...next, holdAfterPicture: false }, orders: [{ do: "pause" }] };
}

export function heard(state: PlayerState, message: FromStation): PlayerState {
  if (state.mode === "live") return state;
  switch (message.is) {
    case "gap": {
      const from = parseTime(message.from);
      const to = parseTime(message.to);
      return from === null || to === null ? state : { ...state, note: { is: "gap", from, to } };
    }
    case "end":
      return { ...state, mode: "paused", waiting: false, holdAfterPicture: false, note: { is: "end", reason: message.reason } };
    case "paused":
      return { ...state, mode: "paused", at: parseTime(message.at) ?? state.at };
    case "problem": {
      const { title = "This cannot be played", detail = "", remedy = "" } = message.problem;
      return { ...state, mode: "paused", waiting: false, holdAfterPicture: false, note: { is: "problem", title, detail, remedy } };
    }
    default:
      return state;
  }
}

// Playback that runs into the present is live from there on.
const PRESENT_MS = 10_000;
export function caughtUp(state: PlayerState, message: FromStation, now: number): boolean {
  if (message.is !== "end" || message.reason !== "end") return false;
  return state.mode === "playing" && state.forward && state.at !== null && now - state.at < PRESENT_MS;
}

// The connection is new and knows nothing of this playback.
export function reconnected(state: PlayerState): Next {
  if (state.mode === "live" || state.at === null) return stay(state);
  return state.mode === "playing" ? playFrom(state, state.at) : standAt(state, state.at);
}

export function faster(speed: Speed, by: 1 | -1): Speed {
  const i = SPEEDS.indexOf(speed) + by;
  return SPEEDS[Math.min(SPEEDS.length - 1, Math.max(0, i))] ?? speed;
}

export function withSlot(order: Order, slot: number, camera: string, width_px: number): ToStation {
  return order.do === "play" ? { ...order, slot, camera, width_px } : { ...order, slot };
}
