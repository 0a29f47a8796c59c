// Why a camera dropped out: a line for each time, with causes, evidence and what to do behind it.
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { asProblem, call, cameraPath, type Problem } from "../api";
import { clockText, dayText, MINUTE, parseTime } from "../time";
import type { Dropout, DropoutsAnswer } from "../types";
import { useOnScreen } from "../ui/hooks";
import { ProblemNote } from "../ui/parts";
import { gapText, likely } from "./words";

const SHOWN = 10;

export function DropoutsSection({ name }: { name: string }) {
  const answer = useSignal<DropoutsAnswer | null>(null);
  const problem = useSignal<Problem | null>(null);
  const limit = useSignal(SHOWN);
  const [frame, shown] = useOnScreen<HTMLElement>();
  useEffect(() => {
    if (!shown) return;
    const stop = new AbortController();
    const load = async (): Promise<void> => {
      try {
        answer.value = await call<DropoutsAnswer>(`${cameraPath(name)}/dropouts?limit=${limit.value}`, { signal: stop.signal });
        problem.value = null;
      } catch (error) {
        if (!stop.signal.aborted) problem.value = asProblem(error);
      }
    };
    void load();
    const again = setInterval(() => void load(), MINUTE);
    return () => {
      stop.abort();
      clearInterval(again);
    };
  }, [name, shown, limit.value]);
  return (
    <section class="vitals dropouts" ref={frame} aria-label="Dropouts">
      <div class="vitals-head">
        <h2>Dropouts</h2>
        {answer.value && <p class="hint figures">{answer.value.summary.text}.</p>}
      </div>
      {problem.value && <ProblemNote problem={problem.value} />}
      {answer.value && (
        <ol class="dropout-list">
          {answer.value.dropouts.map((dropout) => (
            <Told key={dropout.began} dropout={dropout} />
          ))}
        </ol>
      )}
      {answer.value?.next && limit.value < 500 && (
        <button type="button" onClick={() => (limit.value = Math.min(500, limit.value * 5))}>
          Earlier ones
        </button>
      )}
    </section>
  );
}

function Told({ dropout }: { dropout: Dropout }) {
  const began = parseTime(dropout.began) ?? 0;
  return (
    <li>
      <details>
        <summary>
          <span class="figures">
            {dayText(began)}, {clockText(began)} · {gapText(dropout.length_s)}
          </span>{" "}
          <b>{dropout.verdict}</b>
        </summary>
        <p>{dropout.remedy}</p>
        <ul class="dropout-evidence">
          {dropout.evidence.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ul>
        <p class="hint figures">{likely(dropout).join(" · ")}</p>
      </details>
    </li>
  );
}
