// Jobs: those under way with what they look like, and those that were.
import { useEffect, useState } from "preact/hooks";
import { call } from "../api";
import { cameras, isOwner, tick } from "../store";
import { dayText, clockText, parseTime } from "../time";
import { useTitle } from "../ui/hooks";
import { Field, ProblemNote, Said, useWork } from "../ui/parts";
import { JobCard } from "./job_card";
import type { Job, JobsAnswer } from "./types";
import { progressText, voiceText } from "./words";

const LOOK_EVERY_MS = 5000;

export function JobsPage() {
  useTitle("jobs");
  const [under, setUnder] = useState<Job[] | null>(null);
  const [past, setPast] = useState<Job[]>([]);
  const [next, setNext] = useState<string | null>(null);
  const reading = useWork();
  const read = async (): Promise<void> => {
    setUnder((await call<JobsAnswer>("/api/v1/jobs?under_way=true&limit=100")).jobs);
    const over = await call<JobsAnswer>("/api/v1/jobs?under_way=false&limit=20");
    setPast(over.jobs);
    setNext(over.next);
  };
  const more = async (): Promise<void> => {
    const answer = await call<JobsAnswer>(`/api/v1/jobs?under_way=false&limit=20&before=${encodeURIComponent(next ?? "")}`);
    setPast((had) => [...had, ...answer.jobs]);
    setNext(answer.next);
  };
  useEffect(() => {
    void reading.run(read);
    // Only what is under way: whoever reads further down is not thrown back.
    const timer = window.setInterval(() => {
      if (document.visibilityState !== "visible") return;
      call<JobsAnswer>("/api/v1/jobs?under_way=true&limit=100").then(
        (answer) => setUnder(answer.jobs),
        () => {}, // the next look tells
      );
    }, LOOK_EVERY_MS);
    return () => window.clearInterval(timer);
  }, []);
  return (
    <div class="jobs">
      <div class="sheet-head">
        <h1>Jobs</h1>
        <p class="hint">What the cameras film from beginning to end: a print, a kiln firing, a tray of seedlings.</p>
      </div>
      {reading.problem && <ProblemNote problem={reading.problem} />}
      {isOwner.value && <StartForm busy={under ?? []} onStarted={() => void reading.run(read)} />}
      <section aria-label="Under way">
        <h2>Under way</h2>
        {under?.length === 0 && <p>Nothing is being made, or nobody told the station of it.</p>}
        {under?.map((job) => (
          <JobCard key={job.id} job={job} onChanged={() => void reading.run(read)} />
        ))}
      </section>
      <section aria-label="Over">
        <h2>Over</h2>
        {under !== null && past.length === 0 && <p>No job has ended yet.</p>}
        <ul class="job-log">
          {past.map((job) => (
            <PastJob key={job.id} job={job} onChanged={() => void reading.run(read)} />
          ))}
        </ul>
        {next !== null && (
          <button type="button" disabled={reading.busy} onClick={() => void reading.run(more)}>
            earlier ones
          </button>
        )}
      </section>
    </div>
  );
}

function StartForm({ busy, onStarted }: { busy: Job[]; onStarted: () => void }) {
  const free = (cameras.value ?? []).filter((camera) => !busy.some((job) => job.camera === camera.name));
  const [camera, setCamera] = useState("");
  const [label, setLabel] = useState("");
  const [hours, setHours] = useState("");
  const work = useWork();
  const chosen = free.some((one) => one.name === camera) ? camera : (free[0]?.name ?? "");
  const submit = (event: Event): void => {
    event.preventDefault();
    const length = Number(hours.replace(",", "."));
    const body = { camera: chosen, label: label.trim(), ...(hours.trim() === "" ? {} : { expected_s: Math.round(length * 3600) }) };
    void work.run(async () => {
      await call("/api/v1/jobs", { method: "POST", body });
      setLabel("");
      setHours("");
      onStarted();
    }, "It began.");
  };
  if (free.length === 0) return null;
  return (
    <form class="event-filters" onSubmit={submit} aria-label="Begin a job">
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
      <Field label="What is made">
        {(props) => <input {...props} maxLength={64} value={label} onInput={(e) => setLabel(e.currentTarget.value)} />}
      </Field>
      <Field label="Takes about, hours">
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

const ENDINGS = { finished: "finished", failed: "failed", ended: "ended" } as const;

function PastJob({ job, onChanged }: { job: Job; onChanged: () => void }) {
  const [open, setOpen] = useState(false);
  const start = parseTime(job.start);
  return (
    <li>
      <p>
        <b>{job.label || job.camera}</b> {job.label !== "" && <span class="hint">{job.camera}</span>}{" "}
        <span>{job.ending === null ? "" : ENDINGS[job.ending]}</span>
        {job.good !== null && <span> · {job.good ? "good" : "bad"}</span>}
      </p>
      <p class="hint figures">
        {start !== null && `${dayText(start)} ${clockText(start)}`} · {progressText(job, tick.value)} · begun {voiceText(job.began_by)}
      </p>
      <button type="button" class="quiet" aria-expanded={open} onClick={() => setOpen(!open)}>
        {open ? "less" : "more"}
      </button>
      {open && <JobCard job={job} onChanged={onChanged} />}
    </li>
  );
}
