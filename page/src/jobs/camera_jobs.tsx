// A camera's job, on the camera's own page: what runs, or the form that begins one, and how jobs go here.
import { useEffect, useState } from "preact/hooks";
import { call } from "../api";
import { jobLink } from "../route";
import { isOwner, tick } from "../store";
import type { Camera } from "../types";
import { Panel, ProblemNote, useWork } from "../ui/parts";
import { JobSettingsFold } from "./settings_panel";
import { StartForm } from "./start_form";
import type { Job, JobsAnswer } from "./types";
import { useLooks } from "./looks";
import { progressText, standingText, stateText } from "./words";

export function CameraJobs({ camera }: { camera: Camera }) {
  const [job, setJob] = useState<Job | null | undefined>(undefined); // undefined: not asked yet
  const work = useWork();
  const ask = async (): Promise<void> => {
    const answer = await call<JobsAnswer>(`/api/v1/jobs?camera=${encodeURIComponent(camera.name)}&under_way=true&limit=1`);
    setJob(answer.jobs[0] ?? null);
  };
  useEffect(() => void work.run(ask), [camera.name]);
  useLooks(ask, [camera.name]);
  const standing = job ? standingText(job.now) : "";
  return (
    <Panel title="Job" id="job" note="A print, a kiln firing, a tray of seedlings: filmed from beginning to end.">
      {work.problem && <ProblemNote problem={work.problem} />}
      {job && (
        <>
          <p>
            <a href={jobLink(job.id)}>{job.label || `job ${job.id}`}</a> · {stateText(job.now)} · <span class="figures">{progressText(job, tick.value)}</span>
          </p>
          {standing !== "" && <p class="job-look">Look here: {standing}.</p>}
        </>
      )}
      {job === null && <p>None is under way.</p>}
      {job === null && isOwner.value && <StartForm free={[camera]} onStarted={setJob} />}
      {isOwner.value && <JobSettingsFold camera={camera} />}
    </Panel>
  );
}
