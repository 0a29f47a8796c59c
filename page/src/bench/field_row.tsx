// One value of a sum: typed with its unit, chosen, or slid.
import { useId } from "preact/hooks";
import type { PlanAnswer, PlanField } from "./types";
import { startOf } from "./given";
import { placeOf, scaleOf, textAt } from "./slider";

const STEPS = 400;

interface RowProps {
  field: PlanField;
  typed: string | undefined;
  asked: PlanAnswer["asked"][number] | null;
  fault: string | null;
  onType: (text: string) => void;
}

export function FieldRow({ field, typed, asked, fault, onType }: RowProps) {
  const id = useId();
  const text = typed ?? startOf(field);
  const told = [`${id}-hint`, fault && `${id}-fault`].filter(Boolean).join(" ");
  const marks = { id, "aria-describedby": told, ...(fault ? { "aria-invalid": true } : {}) };
  return (
    <div class={`field bench-field ${fault ? "is-wrong" : ""}`} data-field={field.key}>
      <label for={id}>{field.label}</label>
      <Control field={field} text={text} marks={marks} onType={onType} />
      <Slider field={field} text={text} asked={asked} onType={onType} />
      <p class="hint" id={`${id}-hint`}>
        {hintOf(field, typed)}
      </p>
      {fault && (
        <p class="fault" id={`${id}-fault`} role="alert">
          {fault}
        </p>
      )}
    </div>
  );
}

function hintOf(field: PlanField, typed: string | undefined): string {
  const because = field.why ? `: ${field.why}` : "";
  if (typed === undefined || typed.trim() === "") {
    if (field.must) return `An example; put in your own${because}`;
    if (field.preset !== undefined && !field.choices) return `Assumed ${field.preset}${because}`;
    if (field.preset !== undefined) return `Assumed${because}`;
    return `May be left out${because}`;
  }
  return field.least ? `${field.least} to ${field.most}` : "";
}

function Control({ field, text, marks, onType }: { field: PlanField; text: string; marks: object; onType: (text: string) => void }) {
  if (field.choices) {
    return (
      <select {...marks} value={text === "" ? (field.preset ?? "") : text} onChange={(event) => onType(event.currentTarget.value)}>
        {!field.must && field.preset === undefined && <option value="">none</option>}
        {field.choices.map((choice) => (
          <option key={choice.key} value={choice.key}>
            {choice.label}
          </option>
        ))}
      </select>
    );
  }
  if (field.kind === "words" && (field.example ?? "").length > 60) {
    return <textarea {...marks} rows={5} value={text} onInput={(event) => onType(event.currentTarget.value)} />;
  }
  return (
    <input {...marks} type="text" autocomplete="off" spellcheck={false} value={text} placeholder={field.preset ?? field.example ?? ""} onInput={(event) => onType(event.currentTarget.value)} />
  );
}

function Slider({ field, text, asked, onType }: Omit<RowProps, "typed" | "fault"> & { text: string }) {
  const scale = scaleOf(field);
  if (!scale) return null;
  const value = asked?.value ?? scale.least;
  const current = text === "" ? (asked?.text ?? "") : text;
  return (
    <input
      type="range"
      aria-label={`${field.label}, by sliding`}
      aria-valuetext={current}
      min={0}
      max={STEPS}
      step={1}
      value={Math.round(placeOf(value, scale) * STEPS)}
      onInput={(event) => onType(textAt(Number(event.currentTarget.value) / STEPS, field, scale, current, asked))}
    />
  );
}
