// A job's pictures: of now and an hour before, of a step, and what grew drawn over the last one.
import { useEffect, useRef, useState } from "preact/hooks";
import { stationNow } from "../store";
import { clockText, dayText, HOUR, lengthText, MINUTE, parseTime, toRfc3339 } from "../time";
import { anyGrowth, drawGrowth } from "./growth";
import type { Bed, Growth, Job, JobStep } from "./types";

const PICTURE_EVERY_MS = 15_000;

const stillAt = (job: Job, at: number): string => `/api/v1/jobs/${job.id}/still.jpg?width=320&at=${encodeURIComponent(toRfc3339(at))}`;

interface StillProps {
  job: Job;
  at: number;
  alt: string;
  region?: Bed | undefined;
  growth?: Growth | null | undefined;
}

function JobStill({ job, at, alt, region, growth }: StillProps) {
  const address = stillAt(job, at);
  const [lost, setLost] = useState("");
  const part = (share: number): string => `${(share * 100).toFixed(1)}%`;
  if (lost === address) return <span class="job-still is-none">no picture of {clockText(at)}</span>;
  return (
    <span class="job-still">
      <img src={address} alt={alt} loading="lazy" onError={() => setLost(address)} />
      {region && region.w > 0 && <span class="event-region" style={{ left: part(region.x), top: part(region.y), width: part(region.w), height: part(region.h) }} />}
      {growth && <GrowthMap growth={growth} />}
    </span>
  );
}

function GrowthMap({ growth }: { growth: Growth }) {
  const canvas = useRef<HTMLCanvasElement | null>(null);
  useEffect(() => {
    const c = canvas.current?.getContext("2d");
    if (c) drawGrowth(c, growth);
  }, [growth]);
  return <canvas ref={canvas} class="job-growth" width={growth.width} height={growth.height} role="img" aria-label="What grew, in amber" />;
}

// Now (or at its end) and an hour before, side by side; what a job of a minute was like before says nothing.
export function Pictures({ job }: { job: Job }) {
  const [looked, setLooked] = useState(Math.floor(stationNow() / PICTURE_EVERY_MS));
  const [mapped, setMapped] = useState(false);
  useEffect(() => {
    if (job.end !== null) return;
    const timer = window.setInterval(() => setLooked(Math.floor(stationNow() / PICTURE_EVERY_MS)), PICTURE_EVERY_MS);
    return () => window.clearInterval(timer);
  }, [job.end]);
  const start = parseTime(job.start) ?? 0;
  const last = parseTime(job.end) ?? parseTime(job.now?.last_still);
  if (last === null) return null;
  const before = Math.max(start + PICTURE_EVERY_MS, last - HOUR);
  const at = job.end === null ? Math.max(last, looked * PICTURE_EVERY_MS) : last;
  const apart = last - before;
  const apartText = apart >= HOUR ? "an hour before" : `${lengthText(apart)} before`;
  const growth = job.now?.growth ?? null;
  return (
    <>
      <div class="job-pictures">
        {apart >= MINUTE && (
          <figure>
            <JobStill job={job} at={before} alt={`Picture of ${apartText}`} />
            <figcaption class="figures">
              {apartText}, {clockText(before)}
            </figcaption>
          </figure>
        )}
        <figure>
          <JobStill job={job} at={at} alt={job.end === null ? "Picture of now" : "Picture of its end"} growth={mapped ? growth : null} />
          <figcaption class="figures">
            {job.end === null ? "now" : "at its end"}, {clockText(at)}
          </figcaption>
        </figure>
      </div>
      {growth && (
        <label class="check">
          <input type="checkbox" checked={mapped} onChange={(e) => setMapped(e.currentTarget.checked)} />
          <span>show in amber what changed and stayed since it began</span>
        </label>
      )}
      {growth && mapped && !anyGrowth(growth) && <p role="status">Nothing has, so far: work is seen after some minutes, when what does it has moved on.</p>}
    </>
  );
}

// The two pictures that show a sign, with the part of the picture that it is about framed.
export function StepPictures({ job, step }: { job: Job; step: JobStep }) {
  const before = parseTime(step.before);
  const at = parseTime(step.at) ?? 0;
  if (before === null || step.over) return null;
  const when = (time: number): string => `${dayText(time)} ${clockText(time)}`;
  return (
    <div class="job-pictures">
      <figure>
        <JobStill job={job} at={before} alt={`Before: ${when(before)}`} region={step.region} />
        <figcaption class="figures">before, {clockText(before)}</figcaption>
      </figure>
      <figure>
        <JobStill job={job} at={at} alt={`When it was told: ${when(at)}`} region={step.region} />
        <figcaption class="figures">when it was told, {clockText(at)}</figcaption>
      </figure>
    </div>
  );
}
