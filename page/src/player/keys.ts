// Keys of the player. They work while the focus is inside the player, so that they never fight with other keys.
import { faster, type PlayerState, type Wish } from "./state";

export interface KeyLine {
  keys: string;
  does: string;
}

export const KEY_LINES: KeyLine[] = [
  { keys: "space", does: "play or pause" },
  { keys: "←  →", does: "10 s back, on; with Shift 1 min" },
  { keys: ",  .", does: "one frame back, on" },
  { keys: "b  f", does: "play backward, forward" },
  { keys: "−  +", does: "slower, faster" },
  { keys: "l", does: "go to live" },
  { keys: "[  ]", does: "mark start, mark end" },
];

export type KeyWish = Wish | { do: "mark"; which: "from" | "to" };

export function wishOfKey(key: string, shift: boolean, state: PlayerState, now: number): KeyWish | null {
  const here = state.at ?? now;
  const jump = shift ? 60_000 : 10_000;
  const play = state.mode !== "paused";
  switch (key) {
    case " ":
      return state.mode === "paused" ? { do: "play" } : { do: "pause" };
    case "ArrowLeft":
      return { do: "seek", at: here - jump, play };
    case "ArrowRight":
      return state.mode === "live" ? null : here + jump >= now ? { do: "live" } : { do: "seek", at: here + jump, play };
    case ",":
      return { do: "step", frames: -1 };
    case ".":
      return { do: "step", frames: 1 };
    case "b":
      return { do: "turn", forward: false };
    case "f":
      return { do: "turn", forward: true };
    case "-":
      return { do: "speed", speed: faster(state.speed, -1) };
    case "+":
    case "=":
      return { do: "speed", speed: faster(state.speed, 1) };
    case "l":
      return { do: "live" };
    case "[":
      return { do: "mark", which: "from" };
    case "]":
      return { do: "mark", which: "to" };
    default:
      return null;
  }
}
