// What a sum says: headline, drawing, limits, figures, tables, how it was reckoned, cautions.
import { useEffect, useId, useRef } from "preact/hooks";
import type { PlanAnswer, PlanLimit, PlanTable, PlanVerdict } from "./types";
import { Glyph } from "../ui/glyphs";

const WORDS: Record<PlanVerdict, string> = { holds: "Holds", tight: "Tight", fails: "Does not hold" };

// A shape and a word besides the colour.
function VerdictWord({ verdict }: { verdict: PlanVerdict }) {
  return (
    <span class={`verdict is-${verdict}`}>
      <svg class="glyph" viewBox="0 0 14 14" width="14" height="14" aria-hidden="true" focusable="false">
        {verdict === "holds" && <path d="M2 7.5l3.4 3.6L12 3.4" />}
        {verdict === "tight" && <path d="M2 4h10M2 10h10M7 5.6v2.8" />}
        {verdict === "fails" && <path d="M2.5 2.5l9 9M11.5 2.5l-9 9" />}
      </svg>
      {WORDS[verdict]}
    </span>
  );
}

export function Headline({ answer, stale }: { answer: PlanAnswer; stale: boolean }) {
  return (
    <p class={`headline ${stale ? "is-stale" : ""}`} role="status">
      {stale ? "The answer before: " : <VerdictWord verdict={answer.verdict} />} {answer.headline}.
    </p>
  );
}

export function AnswerView({ answer, stale }: { answer: PlanAnswer; stale: boolean }) {
  return (
    <div class={`bench-answer ${stale ? "is-stale" : ""}`}>
      {answer.drawing && <Drawing svg={answer.drawing} />}
      {answer.limits.length > 0 && <Limits limits={answer.limits} nearest={answer.nearest_limit ?? ""} />}
      <Figures answer={answer} />
      {answer.tables.map((table) => (
        <TableView key={table.title} table={table} />
      ))}
      <Notes answer={answer} />
      <Steps answer={answer} />
    </div>
  );
}

// The station's own drawing. It is parsed as XML and holds no style and no script (tests/plan/subject_test.cpp); what a
// person wrote in it is text.
function Drawing({ svg }: { svg: string }) {
  const place = useRef<HTMLDivElement | null>(null);
  useEffect(() => {
    const read = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
    if (read.nodeName === "svg") place.current?.replaceChildren(document.importNode(read, true));
  }, [svg]);
  return <div class="drawing" ref={place} role="group" aria-label="Drawing" tabIndex={0} />;
}

function Limits({ limits, nearest }: { limits: PlanLimit[]; nearest: string }) {
  return (
    <section>
      <h3>Limits</h3>
      <ul class="limits">
        {limits.map((limit) => (
          <li key={limit.key} class={`is-${limit.verdict}`} data-limit={limit.key}>
            <VerdictWord verdict={limit.verdict} />
            <div>
              <p class="figures">
                {limit.label}: <strong>{limit.text}</strong>, {limit.side === "at-most" ? "at most" : "at least"} {limit.bound_text}
              </p>
              <p class="hint figures">
                {limit.margin < 0 ? `${limit.margin_text.replace(/^[-−]/, "")} too ${limit.side === "at-most" ? "much" : "little"}` : `${limit.margin_text} left`}
                {limit.key === nearest && limits.length > 1 && ", the nearest limit"}; {limit.source}
              </p>
              {limit.verdict !== "holds" && <p class="fault">{limit.remedy}</p>}
            </div>
          </li>
        ))}
      </ul>
    </section>
  );
}

function Figures({ answer }: { answer: PlanAnswer }) {
  const spread = answer.figures.some((figure) => figure.spread);
  const id = useId();
  return (
    <section aria-labelledby={id}>
      <h3 id={id}>Figures</h3>
      <div class="table-room" role="region" aria-labelledby={id} tabIndex={0}>
        <table class="figures">
          {spread && (
            <thead>
              <tr>
                <th scope="col">What</th>
                <th scope="col">Value</th>
                <th scope="col">Worst case</th>
                <th scope="col">90 of 100</th>
              </tr>
            </thead>
          )}
          <tbody>
            {answer.figures.map((figure) => (
              <tr key={figure.key} data-figure={figure.key}>
                <th scope="row">
                  {figure.label}
                  {figure.note && <span class="hint"> {figure.note}</span>}
                </th>
                <td>{figure.text}</td>
                {spread && <td>{figure.spread ? `${figure.spread.low_text} to ${figure.spread.high_text}` : ""}</td>}
                {spread && <td>{figure.spread?.p5_text ? `${figure.spread.p5_text} to ${figure.spread.p95_text}` : ""}</td>}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function TableView({ table }: { table: PlanTable }) {
  const id = useId();
  return (
    <section aria-labelledby={id}>
      <h3 id={id}>{table.title}</h3>
      <div class="table-room" role="region" aria-labelledby={id} tabIndex={0}>
        <table class="figures is-list">
          <thead>
            <tr>
              {table.columns.map((column) => (
                <th key={column} scope="col">
                  {column}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {table.rows.map((row, at) => (
              <tr key={at} class={at === table.chosen ? "is-chosen" : ""} aria-current={at === table.chosen ? "true" : undefined}>
                {row.map((cell, column) => (column === 0 ? <th key={column} scope="row">{cell}</th> : <td key={column}>{cell}</td>))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function Notes({ answer }: { answer: PlanAnswer }) {
  if (answer.notes.length === 0) return null;
  return (
    <section>
      <h3>To know</h3>
      <ul class="bench-notes">
        {answer.notes.map((note) => (
          <li key={note.text} class={note.kind === "caution" ? "is-caution" : ""}>
            {note.kind === "caution" && <Glyph sign="look" />}
            <p>
              {note.kind === "caution" && <strong>Caution. </strong>}
              {note.text} {note.remedy}
            </p>
          </li>
        ))}
      </ul>
    </section>
  );
}

function Steps({ answer }: { answer: PlanAnswer }) {
  return (
    <details class="bench-steps">
      <summary>How it was reckoned, and from what source</summary>
      <ol>
        {answer.steps.map((step) => (
          <li key={step.what + step.formula}>
            <p>{step.what}</p>
            <p class="formula">{step.formula}</p>
            <p class="formula">{step.filled}</p>
            <p class="hint">{step.source}</p>
          </li>
        ))}
      </ol>
    </details>
  );
}
