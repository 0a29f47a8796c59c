// Jobs as the API gives them (docs/api.md).
export type JobSign = "finished" | "still" | "knocked" | "covered" | "unsharp" | "loose";
export type JobEnding = "finished" | "failed" | "ended";
export type JobVoice = "hand" | "schedule" | "hook" | "watch";

// A part of the picture, in shares of it from its upper left.
export interface Bed {
  x: number;
  y: number;
  w: number;
  h: number;
}

// What grew: a byte a cell, row by row from the upper left; 0 nothing, 255 surely.
export interface Growth {
  width: number;
  height: number;
  cells: string; // base64
}

export interface JobNow {
  phase: "learning" | "working" | "resting" | "finished";
  moving_share: number;
  quiet_s: number;
  grown_share: number;
  grown_per_hour: number;
  standing: JobSign[];
  last_still: string | null;
  bed: Bed | null;
  growth: Growth | null; // of one job that was asked for by its number
}

// As far as it was watched.
export interface JobFacts {
  lasted_s: number;
  longest_quiet_s: number;
  moving_share: number;
  grown_share: number;
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
  facts: JobFacts;
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
  region: Bed; // without width: the whole picture, or none
}

export interface JobWithSteps extends Job {
  steps: JobStep[];
}

export interface JobsAnswer {
  jobs: Job[];
  next: string | null;
}

export interface JobHours {
  days: number; // bit 0 Monday … bit 6 Sunday
  from_min: number; // since midnight, local time of the station
  length_min: number;
}

export interface JobSettings {
  by_movement: boolean;
  still_every_s: number;
  still_after_s: number;
  expected_s: number | null;
  film_s: number | null;
  end_after_s: number;
  bed: Bed | null;
  tell: JobSign[];
  hours: JobHours[];
  keep_stills_h: number;
  stop: { receiver: number; signs: JobSign[]; hold_s: number }; // receiver 0: nobody is asked
}
