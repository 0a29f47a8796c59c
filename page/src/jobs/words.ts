// A job in words.
import { lengthText, parseTime } from "../time";
import type { Job, JobNow, JobSign, JobStep, JobVoice } from "./types";

const PHASES: Record<JobNow["phase"], string> = {
  learning: "just begun: too little was seen yet",
  working: "at work",
  resting: "at rest",
  finished: "at rest, as after its work",
};

const SIGNS: Record<JobSign, string> = {
  finished: "the work looks finished",
  still: "nothing moves though it should",
  knocked: "the camera was knocked or turned",
  covered: "the camera is covered",
  unsharp: "the camera is out of focus",
  loose: "a part came loose, or a mess grows",
};

// A sign by its name in the API.
export const signText = (sign: string): string => SIGNS[sign as JobSign] ?? sign;

const VOICES: Record<JobVoice, string> = {
  hand: "by hand",
  schedule: "by the clock",
  hook: "by its software",
  watch: "by its movement",
};

export const voiceText = (voice: JobVoice): string => VOICES[voice];

export function stateText(now: JobNow | null): string {
  if (!now) return "not looked at yet";
  if (now.last_still === null) return "no picture of it has come yet";
  const rest = now.phase === "resting" || now.phase === "finished" ? ` for ${lengthText(now.quiet_s * 1000)}` : "";
  return PHASES[now.phase] + rest;
}

export function standingText(now: JobNow | null): string {
  return (now?.standing ?? []).map((sign) => SIGNS[sign]).join("; ");
}

// How much has grown, and how fast; empty before anything has.
export function growthText(now: JobNow | null): string {
  if (!now || now.grown_share <= 0) return "";
  const percent = (share: number): string => `${(100 * share).toFixed(1)}\u00a0%`;
  const rate = now.grown_per_hour > 0 ? `, ${percent(now.grown_per_hour)} an hour` : "";
  return `${percent(now.grown_share)} of the picture changed and stayed${rate}`;
}

// "3 h 10 min so far, of about 4 h"; of one that is over, "took 3 h 50 min, expected were 4 h".
export function progressText(job: Job, at: number): string {
  const start = parseTime(job.start) ?? at;
  const end = parseTime(job.end);
  const lasted = lengthText(Math.max(0, (end ?? at) - start));
  const expected = job.expected_s === null ? null : lengthText(job.expected_s * 1000);
  if (end !== null) return `took ${lasted}${expected === null ? "" : `, expected were ${expected}`}`;
  return `${lasted} so far${expected === null ? "" : `, of about ${expected}`}`;
}

// 0 to 1; null without a length.
export function share(job: Job, at: number): number | null {
  const start = parseTime(job.start);
  if (job.expected_s === null || start === null) return null;
  return Math.min(1, Math.max(0, (at - start) / (job.expected_s * 1000)));
}

export function stepText(step: JobStep): string {
  const sign = step.by === "watch" && step.before !== null;
  const words = step.over ? `no longer: ${step.words}` : step.words;
  return sign && !step.over && !step.sure ? `${words} — not sure, have a look` : words;
}
