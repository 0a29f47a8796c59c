// Parts that several views use: problems, fields, state words, two-step removal.
import type { ComponentChildren, JSX } from "preact";
import { useEffect, useId, useRef, useState } from "preact/hooks";
import { asProblem, Problem } from "../api";
import { live, stationNow, tick } from "../store";
import { clockText, dayStart, dayText, lengthText, parseTime } from "../time";
import type { Status } from "../types";
import { stateWords } from "../words";
import { Glyph, StateGlyph } from "./glyphs";

export function ProblemNote({ problem, id }: { problem: Problem; id?: string }) {
  return (
    <div class="problem" role="alert" id={id}>
      <Glyph sign="look" />
      <div>
        <p class="problem-title">{problem.title}</p>
        <p>{problem.detail}</p>
        {problem.remedy && <p class="remedy">{problem.remedy}</p>}
      </div>
    </div>
  );
}

export function StateWord({ status }: { status: Status | null }) {
  if (!status) return <span class="state is-unknown">no word yet</span>;
  const words = stateWords(status.state);
  return (
    <span class={`state is-${status.state} ${words.look ? "is-look" : ""}`}>
      <StateGlyph state={status.state} />
      <span>{words.word}</span>
    </span>
  );
}

// "14:31:02", with the day in front when it is another one.
export function momentText(at: number, now: number): string {
  return dayStart(at) === dayStart(now) ? clockText(at) : `${dayText(at)} ${clockText(at)}`;
}

// Why a picture stands still; null while it moves.
export function staleText(status: Status | null): string | null {
  if (live.link.value.is === "lost") return "connection lost";
  if (!status || status.state === "live") return null;
  const now = tick.value;
  const last = parseTime(status.last_frame_at);
  const word = stateWords(status.state).word;
  return last === null ? `${word}, no picture yet` : `${word} · picture of ${momentText(last, now)}`;
}

export function ageText(status: Status | null): string | null {
  const last = parseTime(status?.last_frame_at);
  return last === null ? null : `last picture ${lengthText(tick.value - last)} ago`;
}

export function retryText(status: Status | null): string | null {
  const at = parseTime(status?.retry_at);
  if (status?.state !== "waiting" || at === null) return null;
  const left = at - Math.max(tick.value, stationNow());
  return left > 500 ? `next try in ${lengthText(left)}` : "trying now";
}

interface FieldProps {
  label: string;
  hint?: string | undefined;
  fault?: string | null | undefined;
  children: (props: { id: string; "aria-describedby"?: string; "aria-invalid"?: boolean }) => JSX.Element;
}

export function Field({ label, hint, fault, children }: FieldProps) {
  const id = useId();
  const describedBy = [hint && `${id}-hint`, fault && `${id}-fault`].filter(Boolean).join(" ");
  return (
    <div class="field">
      <label for={id}>{label}</label>
      {children({
        id,
        ...(describedBy ? { "aria-describedby": describedBy } : {}),
        ...(fault ? { "aria-invalid": true } : {}),
      })}
      {hint && (
        <p class="hint" id={`${id}-hint`}>
          {hint}
        </p>
      )}
      {fault && (
        <p class="fault" id={`${id}-fault`}>
          {fault}
        </p>
      )}
    </div>
  );
}

export function Choice<T extends string>(props: {
  legend: string;
  name: string;
  value: T;
  options: { value: T; label: string }[];
  onChange: (value: T) => void;
}) {
  return (
    <fieldset class="choice">
      <legend>{props.legend}</legend>
      {props.options.map((option) => (
        <label key={option.value}>
          <input
            type="radio"
            name={props.name}
            value={option.value}
            checked={option.value === props.value}
            onChange={() => props.onChange(option.value)}
          />
          <span>{option.label}</span>
        </label>
      ))}
    </fieldset>
  );
}

interface SeveralProps<T> {
  legend: string;
  options: { value: T; label: string }[];
  value: T[];
  fault?: string | undefined;
  onChange: (value: T[]) => void;
}

export function Several<T extends string | number>({ legend, options, value, fault, onChange }: SeveralProps<T>) {
  const toggled = (one: T, on: boolean): T[] => options.map((option) => option.value).filter((other) => (other === one ? on : value.includes(other)));
  return (
    <fieldset class="checks">
      <legend>{legend}</legend>
      {options.map((option) => (
        <label key={option.value}>
          <input type="checkbox" checked={value.includes(option.value)} onChange={(e) => onChange(toggled(option.value, e.currentTarget.checked))} />
          <span>{option.label}</span>
        </label>
      ))}
      {fault && (
        <p class="fault" role="alert">
          {fault}
        </p>
      )}
    </fieldset>
  );
}

// Asks once more before something is taken away for good.
export function Removal(props: { label: string; ask: string; yes: string; onRemove: () => Promise<void> }) {
  const [asking, setAsking] = useState(false);
  const work = useWork();
  const focused = useRef<HTMLButtonElement | null>(null);
  const first = useRef(true);
  // The button that had the focus is gone: the one in its place takes it over.
  useEffect(() => {
    if (!first.current) focused.current?.focus();
    first.current = false;
  }, [asking]);
  if (!asking) {
    return (
      <button type="button" class="quiet" ref={focused} onClick={() => setAsking(true)}>
        {props.label}
      </button>
    );
  }
  return (
    <div class="removal" role="group" aria-label={props.ask}>
      <p>{props.ask}</p>
      <button type="button" class="warn" disabled={work.busy} onClick={() => void work.run(props.onRemove)}>
        {props.yes}
      </button>
      <button type="button" class="quiet" ref={focused} onClick={() => setAsking(false)}>
        no, leave it
      </button>
      {work.problem && <ProblemNote problem={work.problem} />}
    </div>
  );
}

// One action at a time, its problem and its good end in words.
export function useWork() {
  const [busy, setBusy] = useState(false);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [done, setDone] = useState("");
  useEffect(() => {
    if (done === "") return;
    const timer = window.setTimeout(() => setDone(""), 6000);
    return () => window.clearTimeout(timer);
  }, [done]);
  const run = async (action: () => Promise<unknown>, said = ""): Promise<boolean> => {
    setBusy(true);
    setProblem(null);
    setDone("");
    try {
      await action();
      setDone(said);
      return true;
    } catch (error) {
      setProblem(asProblem(error));
      return false;
    } finally {
      setBusy(false);
    }
  };
  return { busy, problem, done, run, setProblem };
}

export function Said({ text }: { text: string }) {
  return (
    <p class="said" role="status">
      {text}
    </p>
  );
}

export function Panel({ title, children, note, id }: { title: string; children: ComponentChildren; note?: string; id?: string }) {
  const own = useId();
  return (
    <section class="panel" aria-labelledby={own} id={id}>
      <h2 id={own}>{title}</h2>
      {note && <p class="hint">{note}</p>}
      {children}
    </section>
  );
}
