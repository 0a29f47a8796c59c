// One job: what it looks like, what was told of it, its film; end it, judge it.
import { useEffect, useState } from "preact/hooks";
import { call } from "../api";
import { isOwner, stationNow, tick } from "../store";
import { clockText, dayText, lengthText, parseTime, toRfc3339 } from "../time";
import { Choice, Field, ProblemNote, Removal, Said, useWork } from "../ui/parts";
import { bytesText } from "../words";
import type { Job, JobEnding, JobStep, JobWithSteps } from "./types";
import { progressText, share, standingText, stateText, stepText } from "./words";

const HOUR_MS = 3_600_000;
const PICTURE_EVERY_MS = 15_000;

const stillAt = (job: Job, at: number): string => `/api/v1/jobs/${job.id}/still.jpg?width=320&at=${encodeURIComponent(toRfc3339(at))}`;

export function JobCard({ job, onChanged }: { job: Job; onChanged: () => void }) {
  const [steps, setSteps] = useState<JobStep[] | null>(null);
  const work = useWork();
  const path = `/api/v1/jobs/${job.id}`;
  const standing = standingText(job.now);
  const done = share(job, tick.value);
  const showSteps = (): Promise<boolean> => work.run(async () => setSteps((await call<JobWithSteps>(path)).steps));
  const change = (body: object): Promise<boolean> =>
    work.run(async () => {
      await call(path, { method: "PATCH", body });
      onChanged();
    });
  return (
    <article class="job" aria-label={`Job ${job.label || job.camera}`} data-job={job.id}>
      {job.end === null && (
        <p>
          <b>{job.label || job.camera}</b> {job.label !== "" && <a href={`#/camera/${encodeURIComponent(job.camera)}`}>{job.camera}</a>} · {stateText(job.now)}
        </p>
      )}
      {standing !== "" && <p class="job-look">Look here: {standing}.</p>}
      <Pictures job={job} />
      <p class="figures">
        {progressText(job, tick.value)}
        {job.now && job.now.grown_share > 0 && ` · ${(100 * job.now.grown_share).toFixed(1)} % of the picture changed and stayed`}
        {job.expected_end !== null && job.end === null && ` · expected end ${clockText(parseTime(job.expected_end) ?? 0)}`}
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
              onChanged();
            }}
          />
        </>
      )}
      {work.problem && <ProblemNote problem={work.problem} />}
    </article>
  );
}

// Now (or at its end) and an hour before, side by side.
function Pictures({ job }: { job: Job }) {
  const [looked, setLooked] = useState(Math.floor(stationNow() / PICTURE_EVERY_MS));
  useEffect(() => {
    if (job.end !== null) return;
    const timer = window.setInterval(() => setLooked(Math.floor(stationNow() / PICTURE_EVERY_MS)), PICTURE_EVERY_MS);
    return () => window.clearInterval(timer);
  }, [job.end]);
  const start = parseTime(job.start) ?? 0;
  const last = parseTime(job.end) ?? parseTime(job.now?.last_still) ?? null;
  if (last === null) return null;
  const before = Math.max(start + 15_000, last - HOUR_MS);
  const at = job.end === null ? Math.max(last, looked * PICTURE_EVERY_MS) : last;
  return (
    <div class="job-pictures">
      <figure>
        <img src={stillAt(job, before)} alt="" />
        <figcaption>{last - before >= HOUR_MS ? "an hour before" : `${lengthText(last - before)} before`}</figcaption>
      </figure>
      <figure>
        <img src={stillAt(job, at)} alt="" />
        <figcaption>{job.end === null ? "now" : "at its end"}</figcaption>
      </figure>
    </div>
  );
}

function Steps({ job, steps }: { job: Job; steps: JobStep[] }) {
  return (
    <ol class="job-steps">
      {steps.map((step) => {
        const at = parseTime(step.at) ?? 0;
        const before = parseTime(step.before);
        return (
          <li key={step.id}>
            <span class="figures">
              {dayText(at)} {clockText(at)}
            </span>{" "}
            {stepText(step)}
            {step.note !== "" && `: ${step.note}`}
            {before !== null && !step.over && (
              <span class="job-pictures">
                <img src={stillAt(job, before)} alt="before" loading="lazy" />
                <img src={stillAt(job, at)} alt="when it was told" loading="lazy" />
              </span>
            )}
          </li>
        );
      })}
    </ol>
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
