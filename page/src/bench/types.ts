// Sums of the plan as the API gives them (docs/api.md).

// What a sum asks (`GET /api/v1/plan`).
// A unit that may be typed, how much of the kind's own it is, and how answers write it if they do.
export interface PlanUnit {
  text: string; // µ is u, Ω is ohm, ² is 2, ° is deg
  factor: number;
  shown?: string;
}

export interface PlanField {
  key: string;
  label: string;
  kind: string;
  unit: string; // what a bare number is in; empty where it needs one, or there is none
  units?: PlanUnit[];
  forms: string;
  must: boolean;
  rare: boolean; // few people change it
  least?: string;
  least_value?: number;
  most?: string;
  most_value?: number;
  preset?: string;
  why?: string;
  example?: string;
  choices?: { key: string; label: string }[];
}

export interface PlanSubject {
  key: string;
  title: string;
  question: string;
  fields: PlanField[];
}

export type PlanVerdict = "holds" | "tight" | "fails";

interface PlanNumber {
  key: string;
  label: string;
  kind: string;
  value: number;
  text: string;
}

export interface PlanFigure extends PlanNumber {
  note?: string;
  spread?: { low_text: string; high_text: string; p5_text?: string; p95_text?: string };
}

export interface PlanLimit extends PlanNumber {
  bound: number;
  bound_text: string;
  side: "at-most" | "at-least";
  margin: number;
  margin_text: string;
  verdict: PlanVerdict;
  source: string;
  remedy: string;
}

export interface PlanTable {
  title: string;
  columns: string[];
  rows: string[][];
  chosen?: number;
}

export interface PlanAnswer {
  subject: string;
  verdict: PlanVerdict;
  headline: string;
  asked: { key: string; label: string; kind: string; text: string; assumed: boolean; value?: number; why?: string }[];
  figures: PlanFigure[];
  limits: PlanLimit[];
  nearest_limit?: string;
  tables: PlanTable[];
  steps: { what: string; formula: string; filled: string; source: string }[];
  notes: { kind: "note" | "caution"; text: string; remedy?: string }[];
  drawing?: string;
}
