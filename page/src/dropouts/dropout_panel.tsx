// Why a camera dropped out: each dropout with its ranked causes in numbers, what was seen, and what to do.
import { useEffect, useState } from "preact/hooks";
import { asProblem, call, cameraPath, type Problem } from "../api";
import { statusOf, tick } from "../store";
import { lengthText, MINUTE, parseTime } from "../time";
import type { Dropout, DropoutsAnswer } from "../types";
import { momentText, Panel, ProblemNote, useWork } from "../ui/parts";
import { Glyph } from "../ui/glyphs";
import { causeShares } from "./shares";

const FIRST = 3;
const MORE = 10;

// The newest are asked for again when the count of dropouts has grown, and each minute: what is told of one may still grow.
function useDropouts(name: string) {
  const [held, setHeld] = useState<DropoutsAnswer | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const count = statusOf(name).value?.counters.dropouts ?? 0;
  const minute = Math.floor(tick.value / MINUTE);
  useEffect(() => {
    const stop = new AbortController();
    call<DropoutsAnswer>(`${cameraPath(name)}/dropouts?limit=${FIRST}`, { signal: stop.signal }).then(
      (answer) => {
        setHeld(answer);
        setProblem(null);
      },
      (error: unknown) => {
        if (!stop.signal.aborted) setProblem(asProblem(error));
      },
    );
    return () => stop.abort();
  }, [name, count, minute]);
  return { held, problem };
}

export function DropoutPanel({ name }: { name: string }) {
  const { held, problem } = useDropouts(name);
  const [older, setOlder] = useState<DropoutsAnswer | null>(null);
  const work = useWork();
  const next = older ? older.next : (held?.next ?? null);
  const more = (): void => {
    void work.run(async () => {
      if (next === null) return;
      const answer = await call<DropoutsAnswer>(`${cameraPath(name)}/dropouts?limit=${MORE}&before=${encodeURIComponent(next)}`);
      setOlder({ ...answer, dropouts: [...(older?.dropouts ?? []), ...answer.dropouts] });
    });
  };
  const all = [...(held?.dropouts ?? []), ...(older?.dropouts ?? [])];
  // What came since the older ones were asked for moves the border between the two.
  const shown = all.filter((one, i) => all.findIndex((other) => other.began === one.began) === i);
  return (
    <Panel title="Dropouts" note="When no pictures came, and what most likely lay behind it.">
      {problem && <ProblemNote problem={problem} />}
      {held && <p>{held.summary.text}.</p>}
      {shown.length > 0 && (
        <ol class="dropouts">
          {shown.map((dropout) => (
            <OneDropout key={dropout.began} dropout={dropout} />
          ))}
        </ol>
      )}
      {work.problem && <ProblemNote problem={work.problem} />}
      {next !== null && (
        <button type="button" disabled={work.busy} onClick={more}>
          earlier dropouts
        </button>
      )}
    </Panel>
  );
}

function OneDropout({ dropout }: { dropout: Dropout }) {
  const began = parseTime(dropout.began);
  const length = dropout.length_s === null ? "not back yet" : lengthText(dropout.length_s * 1000);
  return (
    <li class="dropout">
      <p class="figures dropout-when">
        {began === null ? dropout.began : momentText(began, tick.value)} · {length}
      </p>
      <p class="dropout-verdict">
        {dropout.cause !== null && <Glyph sign="look" />} {dropout.verdict}
      </p>
      <ul class="dropout-causes figures">
        {causeShares(dropout).map(({ title, share }) => (
          <li key={title}>
            <span>{title}</span> <span class="dropout-bar" style={{ "--share": share } as never} aria-hidden="true" /> <span>{`${Math.round(100 * share)}\u00a0%`}</span>
          </li>
        ))}
      </ul>
      <p class="remedy">{dropout.remedy}</p>
      <details>
        <summary>what was seen</summary>
        <ul class="dropout-evidence">
          {dropout.evidence.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ul>
      </details>
    </li>
  );
}
