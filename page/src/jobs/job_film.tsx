// The lapse of a job that is over: how far it is, the file, and making it anew.
import { call } from "../api";
import { isOwner } from "../store";
import { ProblemNote, Said, useWork } from "../ui/parts";
import { bytesText } from "../words";
import type { Job } from "./types";

const USUAL_S = 30;

export function JobFilmPart({ job, onChanged }: { job: Job; onChanged: () => void }) {
  const work = useWork();
  if (job.end === null) return null;
  const film = job.film;
  const want = (): Promise<boolean> =>
    work.run(async () => {
      await call(`/api/v1/jobs/${job.id}/film`, { method: "POST", body: { length_s: film?.length_s ?? USUAL_S } });
      onChanged();
    }, "It is being made; look again in a while.");
  return (
    <div>
      {film?.state === "wanted" && <p>{film.progress === null ? "Its lapse is waiting for its turn." : `Its lapse is being made: ${Math.round(100 * film.progress)} %.`}</p>}
      {film?.state === "failed" && <p class="job-look">Its lapse was not made: {film.told}.</p>}
      {film?.state === "made" && (
        <p>
          <a href={`/api/v1/jobs/${job.id}/film`} download>
            its lapse
          </a>{" "}
          <span class="hint figures">
            {film.told === "" ? `MP4, ${film.length_s} s, ${bytesText(film.bytes)}` : `MP4, ${bytesText(film.bytes)}; ${film.told}`}
          </span>
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
