// Dropouts in words: how long, and how sure.
import type { Dropout } from "../types";

// "7.6 s", "12 min", "3.4 h".
export function gapText(s: number | null): string {
  if (s === null) return "not back when this was told";
  if (s < 100) return `${s.toFixed(1)} s`;
  return s < 6000 ? `${Math.round(s / 60)} min` : `${(s / 3600).toFixed(1)} h`;
}

// Those worth a line: three at the most, and what has 1 % or more.
export function likely(dropout: Dropout): string[] {
  const lines = dropout.causes.filter((one) => one.probability >= 0.01).slice(0, 3);
  const said = lines.map((one) => `${one.title} ${Math.round(one.probability * 100)} %`);
  if (dropout.unexplained >= 0.01) said.push(`none of them ${Math.round(dropout.unexplained * 100)} %`);
  return said;
}
