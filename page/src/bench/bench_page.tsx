// The bench: sums that answer while their values are moved.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { call, type Problem } from "../api";
import { benchLink } from "../route";
import type { PlanAnswer, PlanField, PlanSubject } from "./types";
import { useTitle } from "../ui/hooks";
import { ProblemNote, useWork } from "../ui/parts";
import { AnswerView, Headline } from "./answer_view";
import { FieldRow } from "./field_row";
import { faultOf, known, toSend } from "./given";
import { Sums, type Given } from "./sums";

const askStation = (subject: string, given: Given): Promise<PlanAnswer> =>
  call<PlanAnswer>(`/api/v1/plan/${encodeURIComponent(subject)}`, { method: "POST", body: { values: given } });

// The address says what the sum says, and "back" leaves the bench instead of undoing each move. Browsers refuse addresses that
// come too fast or are too long; the sum is right without.
function keepInAddress(link: string): void {
  try {
    history.replaceState(null, "", link);
  } catch {
    // The address before stays.
  }
}

export function BenchPage({ subject: wanted, given }: { subject: string; given: Given }) {
  useTitle("bench");
  const [subjects, setSubjects] = useState<PlanSubject[] | null>(null);
  const reading = useWork();
  useEffect(() => {
    void reading.run(async () => setSubjects((await call<{ subjects: PlanSubject[] }>("/api/v1/plan")).subjects));
  }, []);
  const subject = subjects?.find((one) => one.key === wanted) ?? subjects?.[0];
  return (
    <div class="bench">
      <h1>Bench</h1>
      <p class="hint">The sums before the soldering iron. Move a value, and the answer follows.</p>
      {reading.problem && <ProblemNote problem={reading.problem} />}
      {subjects && (
        <nav class="bench-subjects" aria-label="Sums">
          {subjects.map((one) => (
            <a key={one.key} href={benchLink(one.key)} aria-current={one === subject ? "page" : undefined}>
              {one.title}
            </a>
          ))}
        </nav>
      )}
      {subject && <Sum key={subject.key} subject={subject} given={given} />}
    </div>
  );
}

function Sum({ subject, given }: { subject: PlanSubject; given: Given }) {
  const [typed, setTyped] = useState<Given>(() => known(subject, given));
  const [answer, setAnswer] = useState<PlanAnswer | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const over = useRef(false);
  const sums = useMemo(
    () =>
      new Sums(
        askStation,
        (_, got) => {
          if (over.current) return;
          setAnswer(got);
          setProblem(null);
        },
        (_, wrong) => {
          if (!over.current) setProblem(wrong);
        },
      ),
    [],
  );
  // Another address of the same sum: a link, or one typed by hand.
  const first = useRef(true);
  useEffect(() => {
    if (!first.current) setTyped(known(subject, given));
    first.current = false;
  }, [given]);
  useEffect(() => {
    sums.ask(subject.key, toSend(subject, typed));
    keepInAddress(benchLink(subject.key, typed));
  }, [typed]);
  useEffect(() => () => void (over.current = true), []);
  const type = (key: string, text: string): void => setTyped((before) => ({ ...before, [key]: text }));
  const faults = problem?.faults ?? [];
  const homeless = problem && !subject.fields.some((field) => faultOf(faults, subject.key, field.key) !== null) ? problem : null;
  const rare = subject.fields.filter((field) => field.rare);
  const row = (field: PlanField) => (
    <FieldRow
      key={field.key}
      field={field}
      typed={typed[field.key]}
      asked={answer?.asked.find((one) => one.key === field.key) ?? null}
      fault={faultOf(faults, subject.key, field.key)}
      onType={(text) => type(field.key, text)}
    />
  );
  return (
    <div class="bench-sum">
      <div class="bench-word">
        <h2>{subject.question}</h2>
        {answer && <Headline answer={answer} stale={problem !== null} />}
        {homeless && <ProblemNote problem={homeless} />}
      </div>
      <form class="bench-fields" aria-label="Values" onSubmit={(event) => event.preventDefault()}>
        {subject.fields.filter((field) => !field.rare).map(row)}
        {rare.length > 0 && (
          <details open={rare.some((field) => field.key in given || faultOf(faults, subject.key, field.key) !== null)}>
            <summary>{rare.length} more values, assumed unless you know better</summary>
            <div class="bench-rare">{rare.map(row)}</div>
          </details>
        )}
        <div class="acts">
          <button type="button" class="quiet" disabled={Object.keys(typed).length === 0} onClick={() => setTyped({})}>
            back to the example
          </button>
        </div>
      </form>
      {answer && <AnswerView answer={answer} stale={problem !== null} />}
    </div>
  );
}
