// Asks the station for a sum while values move: one question at a time, and of those that wait only the newest.
import { asProblem, type Problem } from "../api";
import type { PlanAnswer } from "./types";

export type Given = Record<string, string>;
export type Ask = (subject: string, given: Given) => Promise<PlanAnswer>;

export class Sums {
  private busy = false;
  private next: (() => Promise<void>) | null = null;

  constructor(
    private readonly askStation: Ask,
    private readonly onAnswer: (subject: string, answer: PlanAnswer) => void,
    private readonly onProblem: (subject: string, problem: Problem) => void,
  ) {}

  ask(subject: string, given: Given): void {
    this.next = () => this.answer(subject, given);
    if (!this.busy) void this.run();
  }

  private async run(): Promise<void> {
    this.busy = true;
    while (this.next) {
      const now = this.next;
      this.next = null;
      await now();
    }
    this.busy = false;
  }

  private async answer(subject: string, given: Given): Promise<void> {
    try {
      this.onAnswer(subject, await this.askStation(subject, given));
    } catch (error) {
      this.onProblem(subject, asProblem(error));
    }
  }
}
