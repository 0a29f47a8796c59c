// One job: what it looks like at the left, what was told of it and what can be done at the right.
import { useEffect, useRef, useState } from "preact/hooks";
import { call } from "../api";
import { cameraLink, jobLink } from "../route";
import { cameraTitle, isOwner, tick } from "../store";
import { clockText, dayText, parseTime } from "../time";
import { Choice, momentText, ProblemNote, Removal, useWork } from "../ui/parts";
import { JobFilmPart } from "./job_film";
import { ChangeFold, EndFold } from "./job_forms";
import { Pictures, StepPictures } from "./pictures";
import type { Job, JobStep, JobWithSteps } from "./types";
import { growthText, progressText, share, standingText, stateText, stepText } from "./words";

// `steps` where they are known already; else they are asked for. Without them the card stands in a list and names its job.
interface Props {
  job: Job;
  steps?: JobStep[];
  onChanged: () => void;
}

export function JobCard({ job, steps: given, onChanged }: Props) {
  const [asked, setAsked] = useState<JobStep[] | null>(null);
  const steps = given ?? asked;
  // Whoever ended it goes on with whether it was good: the form that had the focus is gone.
  const [ended, setEnded] = useState(false);
  const work = useWork();
  const path = `/api/v1/jobs/${job.id}`;
  const showSteps = (): Promise<boolean> => work.run(async () => setAsked((await call<JobWithSteps>(path)).steps));
  return (
    <article class="job" aria-label={`Job ${job.label || job.camera}`} data-job={job.id}>
      {job.end === null && !given && (
        <p>
          <a href={jobLink(job.id)}>
            <b>{job.label || `job ${job.id}`}</b>
          </a>{" "}
          · <a href={cameraLink(job.camera)}>{cameraTitle(job.camera)}</a> · {stateText(job.now)}
        </p>
      )}
      <div class="job-halves">
        <Seen job={job} />
        <div class="job-half">
          {steps === null ? (
            <button type="button" class="quiet" disabled={work.busy} onClick={() => void showSteps()}>
              what was told of it
            </button>
          ) : (
            <Steps job={job} steps={steps} />
          )}
          <JobFilmPart job={job} onChanged={onChanged} />
          {isOwner.value && <ChangeFold job={job} path={path} onChanged={onChanged} />}
          {isOwner.value && job.end === null && <EndFold path={path} onEnded={() => (setEnded(true), onChanged())} />}
          {isOwner.value && job.end !== null && <Judgement job={job} path={path} alone={given !== undefined} focused={ended} onChanged={onChanged} />}
          {work.problem && <ProblemNote problem={work.problem} />}
        </div>
      </div>
    </article>
  );
}

// What the station sees of it: the pictures, how far it is, what to look at.
function Seen({ job }: { job: Job }) {
  const standing = standingText(job.now);
  const growth = growthText(job.now);
  const done = share(job, tick.value);
  const expected = job.end === null ? parseTime(job.expected_end) : null;
  return (
    <div class="job-half">
      {standing !== "" && <p class="job-look">Look here: {standing}.</p>}
      <Pictures job={job} />
      <p class="figures">
        {progressText(job, tick.value)}
        {growth !== "" && ` · ${growth}`}
        {expected !== null && ` · expected end ${momentText(expected, tick.value)}`}
      </p>
      {done !== null && job.end === null && <progress value={done} aria-label="Of the expected time" />}
    </div>
  );
}

// Whether it was good, and forgetting it. `alone`: on a page of its own, which is left when it is forgotten.
function Judgement({ job, path, alone, focused, onChanged }: { job: Job; path: string; alone: boolean; focused: boolean; onChanged: () => void }) {
  const work = useWork();
  const place = useRef<HTMLDivElement | null>(null);
  useEffect(() => {
    if (focused) place.current?.querySelector<HTMLElement>("input:checked")?.focus();
  }, []);
  const judge = (value: string): Promise<boolean> =>
    work.run(async () => {
      await call(path, { method: "PATCH", body: { good: value === "none" ? null : value === "good" } });
      onChanged();
    });
  return (
    <div class="job-half" ref={place}>
      <Choice
        legend="Was it good? Later jobs here are compared with good ones."
        name={`judge-${job.id}`}
        value={job.good === null ? "none" : job.good ? "good" : "bad"}
        options={[
          { value: "good", label: "good" },
          { value: "bad", label: "bad" },
          { value: "none", label: "not said" },
        ]}
        onChange={(value) => void judge(value)}
      />
      {work.problem && <ProblemNote problem={work.problem} />}
      <Removal
        label="forget this job …"
        ask="Forget this job, its steps and its lapse? What the camera recorded stays."
        yes="forget it"
        onRemove={async () => {
          await call(path, { method: "DELETE" });
          if (alone) location.hash = "#/jobs";
          else onChanged();
        }}
      />
    </div>
  );
}

function Steps({ job, steps }: { job: Job; steps: JobStep[] }) {
  return (
    <ol class="job-steps">
      {steps.map((step) => {
        const at = parseTime(step.at) ?? 0;
        return (
          <li key={step.id}>
            <span class="figures">
              {dayText(at)} {clockText(at)}
            </span>{" "}
            {stepText(step)}
            {step.note !== "" && `: ${step.note}`}
            {step.strength > 0 && step.by === "watch" && <span class="hint figures"> strength {step.strength.toFixed(2)}</span>}
            <StepPictures job={job} step={step} />
          </li>
        );
      })}
    </ol>
  );
}
