// Jobs as the API gives them (docs/api.md).
export type JobSign = "finished" | "still" | "knocked" | "covered" | "unsharp";
export type JobEnding = "finished" | "failed" | "ended";
export type JobVoice = "hand" | "schedule" | "hook" | "watch";

export interface JobNow {
  phase: "learning" | "working" | "resting" | "finished";
  moving_share: number;
  quiet_s: number;
  grown_share: number;
  grown_per_hour: number;
  standing: JobSign[];
  last_still: string | null;
}

export interface JobFilm {
  state: "wanted" | "made" | "failed";
  length_s: number;
  progress: number | null;
  bytes: number;
  made_at: string | null;
  told: string;
}

export interface Job {
  id: number;
  camera: string;
  label: string;
  began_by: JobVoice;
  start: string;
  end: string | null;
  ending: JobEnding | null;
  expected_s: number | null;
  expected_end: string | null;
  good: boolean | null;
  now: JobNow | null;
  film: JobFilm | null;
}

export interface JobStep {
  id: number;
  at: string;
  by: JobVoice;
  what: string;
  words: string;
  note: string;
  over: boolean;
  strength: number;
  sure: boolean;
  before: string | null;
}

export interface JobWithSteps extends Job {
  steps: JobStep[];
}

export interface JobsAnswer {
  jobs: Job[];
  next: string | null;
}
