// Calls to the station. Every failure becomes a Problem that says what was wrong and what to do.
import type { Fault, ProblemBody } from "./types";

// A remedy that is a call of the API helps programs; a person at the page is told what to do there.
export function remedyForPeople(remedy: string, status: number): string {
  if (!remedy.includes("/api/v1/")) return remedy;
  if (status === 404) return "It was taken away meanwhile, or is not shown to you: go back to the list.";
  return "The station does not take what this page sent: load the page anew. If it stays so, tell whoever looks after the station.";
}

export class Problem extends Error {
  readonly status: number; // 0: no answer at all
  readonly title: string;
  readonly detail: string;
  readonly remedy: string;
  readonly code: string;
  readonly faults: Fault[]; // each mistake, where a request can hold several
  readonly retryAfterS: number | null;

  constructor(body: ProblemBody, status: number, retryAfterS: number | null = null) {
    super(body.detail ?? body.title ?? `status ${status}`);
    this.status = status;
    this.title = body.title ?? "This did not work";
    this.detail = body.detail ?? `The station answered with status ${status}.`;
    this.remedy = remedyForPeople(body.remedy ?? "", status);
    this.code = body.code ?? "";
    this.faults = body.faults ?? [];
    this.retryAfterS = retryAfterS;
  }
}

export function asProblem(error: unknown): Problem {
  if (error instanceof Problem) return error;
  return new Problem({ title: "Something went wrong in the page", detail: String(error) }, 0);
}

// Seconds from a Retry-After header: a number of seconds or a date (RFC 9110 §10.2.3).
export function retryAfterS(header: string | null, now: number): number | null {
  if (header === null || header.trim() === "") return null;
  const seconds = Number(header);
  if (Number.isFinite(seconds)) return Math.max(0, Math.ceil(seconds));
  const date = Date.parse(header);
  return Number.isNaN(date) ? null : Math.max(0, Math.ceil((date - now) / 1000));
}

let onSignedOut: () => void = () => {};
export function whenSignedOut(call: () => void): void {
  onSignedOut = call;
}

interface Ask {
  method?: string;
  body?: unknown;
  signal?: AbortSignal;
  quiet401?: boolean; // the sign-in form handles it itself
}

async function problemOf(response: Response): Promise<Problem> {
  let body: ProblemBody = {};
  try {
    body = (await response.json()) as ProblemBody;
  } catch {
    body = { title: response.statusText };
  }
  return new Problem(body, response.status, retryAfterS(response.headers.get("Retry-After"), Date.now()));
}

async function send(path: string, ask: Ask): Promise<Response> {
  const init: RequestInit = { method: ask.method ?? "GET", credentials: "same-origin", cache: "no-store" };
  if (ask.signal) init.signal = ask.signal;
  if (ask.body !== undefined) {
    init.body = JSON.stringify(ask.body);
    init.headers = { "Content-Type": "application/json" };
  }
  try {
    return await fetch(path, init);
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    throw new Problem(
      {
        title: "No answer from the station",
        detail: "The station did not answer.",
        remedy: "Check that it is running and that this device is on the same network.",
      },
      0,
    );
  }
}

export async function call<T>(path: string, ask: Ask = {}): Promise<T> {
  const response = await send(path, ask);
  if (!response.ok) {
    const problem = await problemOf(response);
    if (response.status === 401 && !ask.quiet401) onSignedOut();
    throw problem;
  }
  if (response.status === 204) return undefined as T;
  return (await response.json()) as T;
}

export const cameraPath = (name: string): string => `/api/v1/cameras/${encodeURIComponent(name)}`;
