// Words and numbers as a person reads them: states, kinds of broken pictures, quantities with units.
import type { CameraState, Cause } from "./types";

export interface StateWords {
  word: string;
  says: string; // one sentence for the camera's own page
  look: boolean; // a person should look here
}

const STATES: Record<CameraState, StateWords> = {
  off: { word: "off", says: "Switched off in its settings; the board is left alone.", look: false },
  connecting: { word: "connecting", says: "Asking the board for its first picture.", look: false },
  live: { word: "live", says: "Pictures arrive.", look: false },
  silent: { word: "silent", says: "Connected, but no picture has come for longer than expected.", look: true },
  waiting: { word: "waiting", says: "The last try failed; the station tries again by itself.", look: true },
  asleep: { word: "asleep", says: "This board sends stills by itself and has sent none for a while.", look: false },
};

export function stateWords(state: CameraState): StateWords {
  return STATES[state] ?? { word: state, says: "", look: true };
}

const NUMBER = new Intl.NumberFormat("en-GB");
const space = "\u00a0";

export const countText = (n: number): string => NUMBER.format(n);

export function bytesText(n: number): string {
  const units = ["B", "kB", "MB", "GB", "TB", "PB"];
  let value = n;
  let unit = 0;
  while (value >= 999.5 && unit < units.length - 1) {
    value /= 1000;
    unit += 1;
  }
  const digits = unit === 0 || value >= 99.5 ? 0 : value >= 9.95 ? 1 : 2;
  return `${value.toFixed(digits)}${space}${units[unit]}`;
}

export const rateText = (bytesPerS: number): string => `${bytesText(bytesPerS)}/s`;
export const framesText = (framesPerS: number): string => `${framesPerS.toFixed(1)}${space}frames/s`;

// Motion energy is on a square-root scale where 255 stands for a quarter of the picture.
export function motionShare(energy: number): number {
  return 25 * (energy / 255) ** 2;
}
export function motionText(energy: number): string {
  const share = motionShare(energy);
  if (energy === 0) return "no motion";
  if (share < 0.1) return `motion in less than 0.1${space}% of the picture`;
  if (energy >= 255) return `motion in 25${space}% or more of the picture`;
  return `motion in ${share < 1 ? share.toFixed(1) : share.toFixed(0)}${space}% of the picture`;
}

// The kinds of broken pictures in plain words, by the station's machine words.
const BROKEN: Record<string, string> = {
  "empty": "empty",
  "not-a-picture": "not a picture",
  "no-start": "without a start",
  "no-end": "cut off before the end",
  "bad-marker": "with a wrong marker",
  "bad-length": "with a wrong length inside",
  "bad-restart": "with a piece missing",
  "no-frame-header": "without a frame header",
  "no-tables": "without tables",
  "no-scan": "without picture data",
  "size-zero": "of size zero",
  "too-large": "too large",
  "unsupported": "of a kind not read here",
  "trailing-data": "with data after the end",
};
export const brokenText = (kind: string): string => BROKEN[kind.replace(/_/g, "-")] ?? kind;

// A name as the station asks for it; the fault in words, or null when it will do.
export function cameraNameFault(text: string): string | null {
  if (text === "") return "A camera needs a name.";
  if (text.length > 63) return `The name has ${text.length} characters; at most 63 are allowed.`;
  if (/[^a-z0-9-]/.test(text)) return "Use a–z, 0–9 and “-” only, in small letters, for example “back-door”.";
  if (text.startsWith("-") || text.endsWith("-")) return "The name starts and ends with a letter or digit.";
  return null;
}

const TROUBLES: Record<string, string> = {
  "disk-full": "The disk is full",
  "disk-low": "The disk is nearly full",
  clock: "Is the computer's clock right?",
  moved: "A board has a new address",
  pause: "A pause would reach nobody",
};

// The heading of a trouble of the station, by its machine word.
export const troubleTitle = (kind: string): string => TROUBLES[kind] ?? "Something is wrong";

// A step of a camera's sensitivity, by the smallest share of the picture that counts.
export const SENSITIVITIES = [
  { step: 1, words: `coarse: 2${space}%, a person near by` },
  { step: 2, words: `less coarse: 1${space}%` },
  { step: 3, words: `middle: 0.4${space}%, a person across a room` },
  { step: 4, words: `finer: 0.2${space}%` },
  { step: 5, words: `fine: 0.1${space}%, a cat in the yard` },
];

const CAUSES: Record<Cause, string> = { motion: "motion", lighting: "light switched", view: "view changed or covered", job: "of a job" };
export const causeText = (cause: Cause): string => CAUSES[cause] ?? cause;

const SILENT: Record<string, string> = {
  off: "the rule was off",
  cause: "it does not tell of that cause",
  weak: "it was too weak",
  hours: "not at that hour",
  snoozed: "no notices were wanted then",
  quiet: "it was within the quiet time",
};
// Why a rule made no notice of an event.
export const silentText = (verdict: string): string => SILENT[verdict] ?? verdict;

// How much of the picture moved, from a share of 0 to 1.
export function shareText(share: number): string {
  const percent = share * 100;
  if (percent > 0 && percent < 0.1) return `less than 0.1${space}%`;
  return `${percent < 10 ? percent.toFixed(1) : percent.toFixed(0)}${space}%`;
}
