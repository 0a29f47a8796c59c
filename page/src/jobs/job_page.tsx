// One job at an address of its own: all of the card, its steps, its span as a file.
import { useEffect, useRef, useState } from "preact/hooks";
import { call, Problem } from "../api";
import { cameraLink } from "../route";
import { cameras, cameraTitle, tick } from "../store";
import { clockText, dayText, parseTime } from "../time";
import { useTitle } from "../ui/hooks";
import { ProblemNote, useWork } from "../ui/parts";
import { ExportForm } from "../views/export_form";
import { JobCard } from "./job_card";
import { useLooks } from "./looks";
import { goneOn, lastStep } from "./steps";
import type { JobWithSteps } from "./types";
import { stateText, voiceText } from "./words";

// The station says the same of one that there is not and of one that may not be seen.
function orGone(error: unknown, id: number): unknown {
  if (!(error instanceof Problem) || error.status !== 404) return error;
  return new Problem({ title: `There is no job ${id}`, detail: "It was forgotten, or films with a camera that you may not see.", remedy: "Go to all jobs and look for it there." }, 404);
}

export function JobPage({ id }: { id: number }) {
  const [job, setJob] = useState<JobWithSteps | null>(null);
  const known = useRef<JobWithSteps | null>(null); // the same, also for an answer that comes before the next drawing
  const work = useWork();
  const ask = async (): Promise<void> => {
    try {
      const path = `/api/v1/jobs/${id}`;
      const after = lastStep(known.current);
      const answer = await call<JobWithSteps>(after > 0 ? `${path}?steps_after=${after}` : path);
      known.current = goneOn(known.current, answer, after) ?? (await call<JobWithSteps>(path));
      setJob(known.current);
    } catch (error) {
      throw orGone(error, id);
    }
  };
  useEffect(() => void work.run(ask), [id]);
  useLooks(ask, [id], job !== null && (job.end === null || job.film?.state === "wanted"));
  const title = job ? job.label || `Job ${job.id}` : `Job ${id}`;
  useTitle(title);
  return (
    <div class="jobs">
      <div class="sheet-head">
        <h1>{title}</h1>
        <a href="#/jobs">all jobs</a>
      </div>
      {work.problem && <ProblemNote problem={work.problem} />}
      {!job && !work.problem && <p role="status">Asking for this job …</p>}
      {job && <Whole job={job} onChanged={() => void work.run(ask)} />}
    </div>
  );
}

function Whole({ job, onChanged }: { job: JobWithSteps; onChanged: () => void }) {
  const camera = cameras.value?.find((one) => one.name === job.camera);
  const start = parseTime(job.start) ?? 0;
  const [open, setOpen] = useState(false);
  // Of a job under way: to when this was opened, so that the span stands still while the form is filled.
  const [until, setUntil] = useState(0);
  const end = parseTime(job.end) ?? until;
  const toggled = (now: boolean): void => {
    setOpen(now);
    setUntil(tick.value);
  };
  return (
    <>
      <p>
        <a href={cameraLink(job.camera)}>{cameraTitle(job.camera)}</a> · begun{" "}
        <a href={cameraLink(job.camera, start)} title="See the recording from there">
          {dayText(start)} {clockText(start)}
        </a>{" "}
        {voiceText(job.began_by)}
        {job.end === null && ` · ${stateText(job.now)}`}
        {job.ending !== null && ` · ${job.ending}`}
        {job.good !== null && ` · ${job.good ? "good" : "bad"}`}
      </p>
      <JobCard job={job} steps={job.steps} onChanged={onChanged} />
      {camera && (
        <details class="job-file" onToggle={(e) => toggled(e.currentTarget.open)}>
          <summary>{job.end === null ? "a file of it so far …" : "a file of it …"}</summary>
          <p class="hint">Of what the camera recorded in that time, all of it or as a lapse.</p>
          {open && <ExportForm camera={camera} span={{ from: start, to: end }} />}
        </details>
      )}
    </>
  );
}
