// A job changed and ended by hand. Each form is there while its fold is open, so it begins with what is so then.
import { useState } from "preact/hooks";
import { call, Problem } from "../api";
import { Choice, Field, ProblemNote, Said, useWork } from "../ui/parts";
import { lengthOf } from "./settings_form";
import type { Job, JobEnding } from "./types";

interface ChangeProps {
  job: Job;
  path: string;
  onChanged: () => void;
}

// Its name; and its length as long as it lasts.
export function ChangeFold(props: ChangeProps) {
  const [open, setOpen] = useState(false);
  return (
    <details onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>{props.job.end === null ? "name and length" : "name"}</summary>
      {open && <ChangeForm {...props} />}
    </details>
  );
}

const hoursText = (expected_s: number | null): string => (expected_s === null ? "" : String(Number((expected_s / 3600).toFixed(4))));

function ChangeForm({ job, path, onChanged }: ChangeProps) {
  // Only what was typed anew is sent: the machine's software may have named it meanwhile.
  const [was, setWas] = useState({ label: job.label, hours: hoursText(job.expected_s) });
  const [label, setLabel] = useState(was.label);
  const [hours, setHours] = useState(was.hours);
  const [fault, setFault] = useState<string | null>(null);
  const work = useWork();
  const submit = (event: Event): void => {
    event.preventDefault();
    const length = lengthOf(hours);
    setFault(length.fault);
    if (length.fault !== null) return;
    const body = {
      ...(label === was.label ? {} : { label: label.trim() }),
      ...(hours === was.hours ? {} : { expected_s: length.expected_s }),
    };
    void work.run(async () => {
      await call(path, { method: "PATCH", body });
      setWas({ label, hours });
      onChanged();
    }, "It is changed.");
  };
  return (
    <form onSubmit={submit} noValidate>
      <Field label="Name of the job">{(props) => <input {...props} maxLength={64} value={label} onInput={(e) => setLabel(e.currentTarget.value)} />}</Field>
      {job.end === null && (
        <Field label="It takes about, hours" hint="From its beginning. Empty: not known." fault={fault}>
          {(props) => <input {...props} inputMode="decimal" value={hours} onInput={(e) => setHours(e.currentTarget.value)} />}
        </Field>
      )}
      <button type="submit" disabled={work.busy}>
        change the job
      </button>
      {work.problem && <ProblemNote problem={work.problem} />}
      <Said text={work.done} />
    </form>
  );
}

// What the station answers when the job ended before: nothing is wrong with what the person did.
function endedBefore(error: unknown): unknown {
  if (!(error instanceof Problem) || error.status !== 409) return error;
  return new Problem({ title: "It is over already", detail: "Somebody, or the station, ended it before you did.", remedy: "How it ended stays as it was; whether it was good is yours to say." }, 409);
}

export function EndFold({ path, onEnded }: { path: string; onEnded: () => void }) {
  const [ending, setEnding] = useState<JobEnding>("finished");
  const [note, setNote] = useState("");
  const work = useWork();
  const submit = (event: Event): void => {
    event.preventDefault();
    void work.run(async () => {
      try {
        await call(`${path}/end`, { method: "POST", body: { ending, note: note.trim() } });
      } catch (error) {
        throw endedBefore(error);
      }
      onEnded();
    });
  };
  return (
    <details>
      <summary>end it</summary>
      <form onSubmit={submit}>
        <Choice
          legend="How it went"
          name={`end-${path}`}
          value={ending}
          options={[
            { value: "finished", label: "finished" },
            { value: "failed", label: "failed" },
            { value: "ended", label: "neither, just ended" },
          ]}
          onChange={setEnding}
        />
        <Field label="A note">{(props) => <input {...props} maxLength={200} value={note} onInput={(e) => setNote(e.currentTarget.value)} />}</Field>
        <button type="submit" disabled={work.busy}>
          end the job
        </button>
        {work.problem && <ProblemNote problem={work.problem} />}
      </form>
    </details>
  );
}
