// A job begun by hand: of one camera, or of one that is chosen.
import { useState } from "preact/hooks";
import { call } from "../api";
import type { Camera } from "../types";
import { Field, ProblemNote, Said, useWork } from "../ui/parts";
import { lengthOf } from "./settings_form";
import type { Job } from "./types";

export function StartForm({ free, onStarted }: { free: Camera[]; onStarted: (job: Job) => void }) {
  const [camera, setCamera] = useState("");
  const [label, setLabel] = useState("");
  const [hours, setHours] = useState("");
  const [fault, setFault] = useState<string | null>(null);
  const work = useWork();
  const chosen = free.some((one) => one.name === camera) ? camera : (free[0]?.name ?? "");
  const submit = (event: Event): void => {
    event.preventDefault();
    const length = lengthOf(hours);
    setFault(length.fault);
    if (length.fault !== null) return;
    const body = { camera: chosen, label: label.trim(), ...(length.expected_s === null ? {} : { expected_s: length.expected_s }) };
    void work.run(async () => {
      const job = await call<Job>("/api/v1/jobs", { method: "POST", body });
      setLabel("");
      setHours("");
      onStarted(job);
    }, "It began.");
  };
  if (free.length === 0) return null;
  return (
    <form class="event-filters" onSubmit={submit} aria-label="Begin a job" noValidate>
      {free.length > 1 && (
        <Field label="Camera">
          {(props) => (
            <select {...props} value={chosen} onChange={(e) => setCamera(e.currentTarget.value)}>
              {free.map((one) => (
                <option key={one.name} value={one.name}>
                  {one.title || one.name}
                </option>
              ))}
            </select>
          )}
        </Field>
      )}
      <Field label="What is made">
        {(props) => <input {...props} maxLength={64} value={label} onInput={(e) => setLabel(e.currentTarget.value)} />}
      </Field>
      <Field label="Takes about, hours" fault={fault}>
        {(props) => <input {...props} inputMode="decimal" value={hours} placeholder="not known" onInput={(e) => setHours(e.currentTarget.value)} />}
      </Field>
      <button type="submit" disabled={work.busy}>
        begin a job
      </button>
      {work.problem && <ProblemNote problem={work.problem} />}
      <Said text={work.done} />
    </form>
  );
}
