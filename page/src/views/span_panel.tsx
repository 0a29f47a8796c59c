// A span of the recording: its two ends, taking it along as a file, keeping it.
import type { Signal } from "@preact/signals";
import { useEffect, useRef, useState } from "preact/hooks";
import { asProblem, call, cameraPath, Problem } from "../api";
import { isOwner, stationNow } from "../store";
import type { TimeSpan } from "../strip/data";
import { dateTimeField, HOUR, lengthText, readDateField, toRfc3339 } from "../time";
import type { Camera, ExportAnswer, ExportFormat } from "../types";
import { Choice, Field, Panel, ProblemNote, Said, useWork } from "../ui/parts";
import { bytesText, countText } from "../words";

interface Props {
  camera: Camera;
  selection: Signal<TimeSpan | null>;
  keptRound: Signal<number>;
}

// What is wrong with a span, in words; null when it can be exported.
export function spanFault(span: TimeSpan | null, now: number): string | null {
  if (!span) return "Mark a start and an end first: with the buttons above, the keys [ and ], or by dragging over the strip with Shift held.";
  if (span.to <= span.from) return "The end must come after the start.";
  if (span.to - span.from > 24 * HOUR) return "A span can be 24 h long at most.";
  if (span.from > now) return "This span has not happened yet.";
  return null;
}

export function SpanPanel({ camera, selection, keptRound }: Props) {
  const span = selection.value;
  const fault = spanFault(span, stationNow());
  const set = (which: "from" | "to", text: string): void => {
    const at = readDateField(text);
    if (at !== null) selection.value = { from: at, to: at, ...selection.value, [which]: at };
  };
  return (
    <Panel title="A span" id="span">
      <div class="pair">
        <Field label="From">
          {(props) => (
            <input {...props} type="datetime-local" step="1" value={span ? dateTimeField(span.from) : ""} onChange={(e) => set("from", e.currentTarget.value)} />
          )}
        </Field>
        <Field label="To">
          {(props) => (
            <input {...props} type="datetime-local" step="1" value={span ? dateTimeField(span.to) : ""} onChange={(e) => set("to", e.currentTarget.value)} />
          )}
        </Field>
      </div>
      {fault ? <p class="hint">{fault}</p> : span && <p class="figures">{lengthText(span.to - span.from)} long</p>}
      <ExportForm camera={camera} span={fault ? null : span} />
      {isOwner.value && <KeepForm camera={camera} span={fault ? null : span} keptRound={keptRound} />}
    </Panel>
  );
}

const POLL_MS = 500;

// Follows one export until it is done, failed or taken back.
function useExport() {
  const [job, setJob] = useState<ExportAnswer | null>(null);
  const work = useWork();
  const timer = useRef<number | undefined>(undefined);
  const follow = (answer: ExportAnswer): void => {
    setJob(answer);
    if (answer.state !== "waiting" && answer.state !== "working") return;
    timer.current = window.setTimeout(() => {
      call<ExportAnswer>(`/api/v1/exports/${answer.id}`).then(follow, (error: unknown) => {
        const problem = asProblem(error);
        if (problem.status === 0) return follow(answer); // the network is away: look again
        work.setProblem(problem);
        setJob(null);
      });
    }, POLL_MS);
  };
  useEffect(() => () => window.clearTimeout(timer.current), []);
  const start = (body: unknown) =>
    work.run(async () => follow(await call<ExportAnswer>("/api/v1/exports", { method: "POST", body })));
  const drop = () =>
    work.run(async () => {
      window.clearTimeout(timer.current);
      if (job) await call(`/api/v1/exports/${job.id}`, { method: "DELETE" });
      setJob(null);
    });
  return { job, work, start, drop };
}

function ExportForm({ camera, span }: { camera: Camera; span: TimeSpan | null }) {
  const [format, setFormat] = useState<ExportFormat>("matroska");
  const [rate, setRate] = useState("");
  const { job, work, start, drop } = useExport();
  const running = job?.state === "waiting" || job?.state === "working";
  const begin = (): void => {
    if (!span) return;
    const body = { camera: camera.name, from: toRfc3339(span.from), to: toRfc3339(span.to), format };
    void start(format === "mp4" && rate !== "" ? { ...body, frames_per_s: Number(rate) } : body);
  };
  return (
    <div class="export">
      <Choice
        legend="file"
        name="export-format"
        value={format}
        options={[
          { value: "matroska", label: "Matroska, as the board sent it" },
          { value: "mp4", label: "MP4, plays anywhere" },
        ]}
        onChange={setFormat}
      />
      {format === "mp4" && (
        <Field label="Frames/s" hint="Empty: as recorded. 1 to 60.">
          {(props) => <input {...props} type="number" min="1" max="60" step="1" value={rate} onInput={(e) => setRate(e.currentTarget.value)} />}
        </Field>
      )}
      <div class="acts">
        <button type="button" class="main-act" disabled={!span || running || work.busy} onClick={begin}>
          export this span
        </button>
        {running && (
          <button type="button" class="quiet" onClick={() => void drop()}>
            stop the export
          </button>
        )}
      </div>
      {work.problem && <ProblemNote problem={work.problem} />}
      {job && <ExportState job={job} />}
    </div>
  );
}

function ExportState({ job }: { job: ExportAnswer }) {
  if (job.state === "failed") return <ProblemNote problem={new Problem(job.problem ?? { title: "The export failed" }, 0)} />;
  if (job.state === "cancelled") return <p role="status">The export was stopped.</p>;
  if (job.state === "done") {
    return (
      <div role="status">
        <p class="done-line">
          <a class="button" href={`/api/v1/exports/${job.id}/file`} download={job.file_name} data-download>
            download {job.file_name}
          </a>
        </p>
        <p class="figures hint">
          {job.bytes !== null && bytesText(job.bytes)}
          {job.frames !== null && `, ${countText(job.frames)} frames`}
        </p>
      </div>
    );
  }
  const percent = Math.round(job.progress * 100);
  return (
    <div class="progress">
      <label for="export-progress" class="figures">
        {job.state === "waiting" ? "waiting for its turn" : `${percent} % written`}
      </label>
      <progress id="export-progress" max="1" value={job.state === "waiting" ? 0 : job.progress} />
    </div>
  );
}

function KeepForm({ camera, span, keptRound }: { camera: Camera; span: TimeSpan | null; keptRound: Signal<number> }) {
  const work = useWork();
  const [said, setSaid] = useState("");
  const keep = (kept: boolean): void => {
    if (!span) return;
    setSaid("");
    void work.run(async () => {
      const body = { from: toRfc3339(span.from), to: toRfc3339(span.to), kept };
      const answer = await call<{ segments: number }>(`${cameraPath(camera.name)}/kept`, { method: "PUT", body });
      const files = `${countText(answer.segments)} ${answer.segments === 1 ? "segment" : "segments"}`;
      setSaid(kept ? `${files} kept: no rule deletes them.` : `${files} let go: retention may delete them.`);
      keptRound.value += 1;
    });
  };
  return (
    <div class="keep">
      <div class="acts">
        <button type="button" disabled={!span || work.busy} onClick={() => keep(true)}>
          keep this span
        </button>
        <button type="button" class="quiet" disabled={!span || work.busy} onClick={() => keep(false)}>
          let it go
        </button>
      </div>
      {work.problem && <ProblemNote problem={work.problem} />}
      <Said text={said} />
    </div>
  );
}
