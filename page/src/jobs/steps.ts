// The steps of a job that is looked at again and again: only those that came since are asked for.
import type { JobWithSteps } from "./types";

export function lastStep(job: JobWithSteps | null): number {
  return job?.steps.at(-1)?.id ?? 0;
}

// `known` with what an answer brought that holds only the steps after `after` (0: all of them). null: the answer does not
// go on from there, as when the station lost its catalog and began its numbers anew; then all is to be asked for. Two
// answers may have asked for the same steps.
export function goneOn(known: JobWithSteps | null, answer: JobWithSteps, after: number): JobWithSteps | null {
  if (after === 0) return answer;
  const last = lastStep(known);
  if (known === null || known.id !== answer.id || known.start !== answer.start || last < after) return null;
  return { ...answer, steps: [...known.steps, ...answer.steps.filter((step) => step.id > last)] };
}
