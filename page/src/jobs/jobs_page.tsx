// Jobs: those under way with what they look like, and those that were.
import { useEffect, useState } from "preact/hooks";
import { call } from "../api";
import { jobLink } from "../route";
import { cameras, cameraTitle, isOwner, tick } from "../store";
import { dayText, clockText, parseTime } from "../time";
import { useTitle } from "../ui/hooks";
import { ProblemNote, useWork } from "../ui/parts";
import { JobCard } from "./job_card";
import { useLooks } from "./looks";
import { StartForm } from "./start_form";
import type { Job, JobsAnswer } from "./types";
import { progressText, voiceText } from "./words";

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
  const free = (cameras.value ?? []).filter((camera) => !(under ?? []).some((job) => job.camera === camera.name));
  useEffect(() => {
    void reading.run(read);
  }, []);
  // Only what is under way: whoever reads further down is not thrown back.
  useLooks(async () => setUnder((await call<JobsAnswer>("/api/v1/jobs?under_way=true&limit=100")).jobs), []);
  return (
    <div class="jobs">
      <div class="sheet-head">
        <h1>Jobs</h1>
        <p class="hint">What the cameras film from beginning to end: a print, a kiln firing, a tray of seedlings.</p>
      </div>
      {reading.problem && <ProblemNote problem={reading.problem} />}
      {isOwner.value && under && <StartForm free={free} onStarted={() => void reading.run(read)} />}
      {isOwner.value && under && free.length === 0 && <p class="hint">{cameras.value?.length === 0 ? "There is no camera yet, so nothing can be filmed." : "Every camera has a job under way; end one to begin another."}</p>}
      <section aria-label="Under way">
        <h2>Under way</h2>
        {under?.length === 0 && <p>Nothing is being made, or nobody told the station of it.</p>}
        {under === null && !reading.problem && <p role="status">Asking for the jobs …</p>}
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

function PastJob({ job, onChanged }: { job: Job; onChanged: () => void }) {
  const [open, setOpen] = useState(false);
  const start = parseTime(job.start);
  return (
    <li>
      <p>
        <a href={jobLink(job.id)}>
          <b>{job.label || `job ${job.id}`}</b>
        </a>{" "}
        · {cameraTitle(job.camera)}
        {job.ending !== null && ` · ${job.ending}`}
        {job.good !== null && ` · ${job.good ? "good" : "bad"}`}
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
