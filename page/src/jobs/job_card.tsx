// One job: what it looks like, what was told of it, its film; end it, judge it.
import { useState } from "preact/hooks";
import { call } from "../api";
import { jobLink } from "../route";
import { isOwner, tick } from "../store";
import { clockText, dayText, parseTime } from "../time";
import { Choice, Field, momentText, ProblemNote, Removal, Said, useWork } from "../ui/parts";
import { bytesText } from "../words";
import { Pictures, StepPictures } from "./pictures";
import { lengthOf } from "./settings_form";
import type { Job, JobEnding, JobStep, JobWithSteps } from "./types";
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
  const work = useWork();
  const path = `/api/v1/jobs/${job.id}`;
  const standing = standingText(job.now);
  const done = share(job, tick.value);
  const showSteps = (): Promise<boolean> => work.run(async () => setAsked((await call<JobWithSteps>(path)).steps));
  const change = (body: object): Promise<boolean> =>
    work.run(async () => {
      await call(path, { method: "PATCH", body });
      onChanged();
    });
  return (
    <article class="job" aria-label={`Job ${job.label || job.camera}`} data-job={job.id}>
      {job.end === null && !given && (
        <p>
          <a href={jobLink(job.id)}>
            <b>{job.label || `job ${job.id}`}</b>
          </a>{" "}
          · <a href={`#/camera/${encodeURIComponent(job.camera)}`}>{job.camera}</a> · {stateText(job.now)}
        </p>
      )}
      {standing !== "" && <p class="job-look">Look here: {standing}.</p>}
      <Pictures job={job} />
      <p class="figures">
        {progressText(job, tick.value)}
        {growthText(job.now) !== "" && ` · ${growthText(job.now)}`}
        {job.expected_end !== null && job.end === null && ` · expected end ${momentText(parseTime(job.expected_end) ?? 0, tick.value)}`}
      </p>
      {done !== null && job.end === null && <progress value={done} aria-label="Of the expected time" />}
      <Film job={job} onChanged={onChanged} />
      {steps === null ? (
        <button type="button" class="quiet" disabled={work.busy} onClick={() => void showSteps()}>
          what was told of it
        </button>
      ) : (
        <Steps job={job} steps={steps} />
      )}
      {isOwner.value && <ChangeForm job={job} path={path} onChanged={onChanged} />}
      {isOwner.value && job.end === null && <EndForm path={path} onEnded={onChanged} />}
      {isOwner.value && job.end !== null && (
        <>
          <Choice
            legend="Was it good? Later jobs here are compared with good ones."
            name={`judge-${job.id}`}
            value={job.good === null ? "none" : job.good ? "good" : "bad"}
            options={[
              { value: "good", label: "good" },
              { value: "bad", label: "bad" },
              { value: "none", label: "not said" },
            ]}
            onChange={(value) => void change({ good: value === "none" ? null : value === "good" })}
          />
          <Removal
            label="forget …"
            ask="Forget this job, its steps and its film? Its pictures stay in the recording."
            yes="forget it"
            onRemove={async () => {
              await call(path, { method: "DELETE" });
              if (given) location.hash = "#/jobs";
              else onChanged();
            }}
          />
        </>
      )}
      {work.problem && <ProblemNote problem={work.problem} />}
    </article>
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

// Its name and length, as long as it lasts; its name afterwards, too.
function ChangeForm({ job, path, onChanged }: { job: Job; path: string; onChanged: () => void }) {
  const [label, setLabel] = useState(job.label);
  const [hours, setHours] = useState(job.expected_s === null ? "" : String(Number((job.expected_s / 3600).toFixed(4))));
  const [fault, setFault] = useState<string | null>(null);
  const work = useWork();
  const submit = (event: Event): void => {
    event.preventDefault();
    const length = lengthOf(hours);
    setFault(length.fault);
    if (length.fault !== null) return;
    void work.run(async () => {
      await call(path, { method: "PATCH", body: { label: label.trim(), expected_s: length.expected_s } });
      onChanged();
    }, "It is changed.");
  };
  return (
    <details>
      <summary>name and length</summary>
      <form onSubmit={submit} noValidate>
        <Field label="Name of the job">{(props) => <input {...props} maxLength={64} value={label} onInput={(e) => setLabel(e.currentTarget.value)} />}</Field>
        <Field label="It takes about, hours" hint="From its beginning. Empty: not known." fault={fault}>
          {(props) => <input {...props} inputMode="decimal" value={hours} onInput={(e) => setHours(e.currentTarget.value)} />}
        </Field>
        <button type="submit" disabled={work.busy}>
          change the job
        </button>
        {work.problem && <ProblemNote problem={work.problem} />}
        <Said text={work.done} />
      </form>
    </details>
  );
}

function EndForm({ path, onEnded }: { path: string; onEnded: () => void }) {
  const [ending, setEnding] = useState<JobEnding>("finished");
  const [note, setNote] = useState("");
  const work = useWork();
  const submit = (event: Event): void => {
    event.preventDefault();
    void work.run(async () => {
      await call(`${path}/end`, { method: "POST", body: { ending, note: note.trim() } });
      onEnded();
    });
  };
  return (
    <details>
      <summary>end it</summary>
      <form onSubmit={submit}>
        <Choice
          legend="How it ended"
          name={`end-${path}`}
          value={ending}
          options={[
            { value: "finished", label: "finished" },
            { value: "failed", label: "failed" },
            { value: "ended", label: "neither" },
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

function Film({ job, onChanged }: { job: Job; onChanged: () => void }) {
  const work = useWork();
  if (job.end === null) return null;
  const film = job.film;
  const want = (): Promise<boolean> =>
    work.run(async () => {
      await call(`/api/v1/jobs/${job.id}/film`, { method: "POST", body: { length_s: film?.length_s ?? 30 } });
      onChanged();
    }, "It is being made; look again in a while.");
  return (
    <div>
      {film?.state === "wanted" && <p>Its lapse is being made{film.progress !== null && `: ${Math.round(100 * film.progress)} %`}.</p>}
      {film?.state === "failed" && <p class="job-look">Its lapse was not made: {film.told}.</p>}
      {film?.state === "made" && (
        <p>
          <a href={`/api/v1/jobs/${job.id}/film`} download>
            its lapse
          </a>{" "}
          <span class="hint figures">
            MP4, {film.length_s} s, {bytesText(film.bytes)}
          </span>
          {film.told !== "" && <span class="hint"> {film.told}</span>}
        </p>
      )}
      {isOwner.value && film?.state !== "wanted" && (
        <button type="button" class="quiet" disabled={work.busy} onClick={() => void want()}>
          {film === null ? "make its lapse" : "make its lapse anew"}
        </button>
      )}
      {work.problem && <ProblemNote problem={work.problem} />}
      <Said text={work.done} />
    </div>
  );
}
