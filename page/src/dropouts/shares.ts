// Which causes are worth a line: those that could still be it.
import type { Dropout } from "../types";

const LEAST = 0.02;
const MOST_LINES = 3;

export interface CauseShare {
  title: string;
  share: number; // 0 to 1
}

export function causeShares(dropout: Pick<Dropout, "causes" | "unexplained">): CauseShare[] {
  const shares = dropout.causes.filter((one) => one.probability >= LEAST).map((one) => ({ title: one.title, share: one.probability }));
  if (dropout.unexplained >= LEAST) shares.push({ title: "none of these", share: dropout.unexplained });
  return shares.sort((a, b) => b.share - a.share).slice(0, MOST_LINES);
}
