// A span as a file: the recording itself, or a lapse of it; followed until it is there.
import { useEffect, useRef, useState } from "preact/hooks";
import { asProblem, call, Problem } from "../api";
import type { TimeSpan } from "../strip/data";
import { DAY, HOUR, toRfc3339 } from "../time";
import type { Camera, ExportAnswer, FilmFormat, LapseFacts } from "../types";
import { Choice, Field, ProblemNote, useWork } from "../ui/parts";
import { bytesText, countText } from "../words";

const POLL_MS = 500;

// Follows one export until it is done, failed or taken back.
function useExport() {
  const [job, setJob] = useState<ExportAnswer | null>(null);
  const work = useWork();
  const timer = useRef<number | undefined>(undefined);
  const wanted = useRef(true); // false once nobody waits for the answer that is on its way
  const follow = (answer: ExportAnswer): void => {
    if (!wanted.current) return;
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
  useEffect(
    () => () => {
      wanted.current = false;
      window.clearTimeout(timer.current);
    },
    [],
  );
  const start = (path: "/api/v1/exports" | "/api/v1/lapses", body: unknown) => work.run(async () => {
      wanted.current = true;
      follow(await call<ExportAnswer>(path, { method: "POST", body }));
    });
  const drop = () =>
    work.run(async () => {
      wanted.current = false;
      window.clearTimeout(timer.current);
      if (job) await call(`/api/v1/exports/${job.id}`, { method: "DELETE" });
      setJob(null);
    });
  return { job, work, start, drop };
}

type Wanted = "matroska" | "mp4" | "lapse";
const MOST = { matroska: 24 * HOUR, mp4: 24 * HOUR, lapse: 62 * DAY };

export function ExportForm({ camera, span }: { camera: Camera; span: TimeSpan | null }) {
  const [wanted, setWanted] = useState<Wanted>("matroska");
  const [rate, setRate] = useState("");
  const [film, setFilm] = useState<FilmFields>({ length: "30", format: "mp4", card: "", lit: false, clock: false });
  const { job, work, start, drop } = useExport();
  const running = job?.state === "waiting" || job?.state === "working";
  const tooLong = span !== null && span.to - span.from > MOST[wanted];
  const begin = (): void => {
    if (!span) return;
    const body = { camera: camera.name, from: toRfc3339(span.from), to: toRfc3339(span.to) };
    if (wanted === "lapse") {
      const card = film.card.trim() === "" ? {} : { card: film.card.trim() };
      void start("/api/v1/lapses", { ...body, ...card, length_s: Number(film.length), format: film.format, lit_only: film.lit, clock: film.clock });
    } else {
      void start("/api/v1/exports", { ...body, format: wanted, ...(wanted === "mp4" && rate !== "" ? { frames_per_s: Number(rate) } : {}) });
    }
  };
  return (
    <div class="export">
      <Choice
        legend="file"
        name="export-format"
        value={wanted}
        options={[
          { value: "matroska", label: "Matroska, as the board sent it" },
          { value: "mp4", label: "MP4, plays anywhere" },
          { value: "lapse", label: "Lapse, a short film of the job" },
        ]}
        onChange={setWanted}
      />
      {wanted === "lapse" && <FilmForm film={film} onChange={setFilm} />}
      {tooLong && <p class="hint">An export can be 24 h long at most; a lapse may be of 62 days.</p>}
      {wanted === "mp4" && (
        <Field label="Frames/s" hint="Empty: as recorded. 1 to 60.">
          {(props) => <input {...props} type="number" min="1" max="60" step="1" value={rate} onInput={(e) => setRate(e.currentTarget.value)} />}
        </Field>
      )}
      <div class="acts">
        <button type="button" class="main-act" disabled={!span || tooLong || running || work.busy} onClick={begin}>
          {wanted === "lapse" ? "make the lapse" : "export this span"}
        </button>
        {running && (
          <button type="button" class="quiet" onClick={() => void drop()}>
            {job?.kind === "lapse" ? "stop the lapse" : "stop the export"}
          </button>
        )}
      </div>
      {work.problem && <ProblemNote problem={work.problem} />}
      {job && <ExportState job={job} />}
    </div>
  );
}

function ExportState({ job }: { job: ExportAnswer }) {
  if (job.state === "failed") return <ProblemNote problem={new Problem(job.problem ?? { title: job.kind === "lapse" ? "The lapse failed" : "The export failed" }, 0)} />;
  if (job.state === "cancelled") return <p role="status">{job.kind === "lapse" ? "The lapse was stopped." : "The export was stopped."}</p>;
  if (job.state === "done") {
    return (
      <div role="status">
        {job.kind === "lapse" && <FilmView job={job} />}
        <p class="done-line">
          <a class="button" href={`/api/v1/exports/${job.id}/file`} download={job.file_name} data-download>
            download {job.file_name}
          </a>
        </p>
        <p class="figures hint">
          {job.bytes !== null && bytesText(job.bytes)}
          {job.frames !== null && `, ${countText(job.frames)} frames`}
          {job.lapse && `, ${job.lapse.length_s.toFixed(1)} s, ${Math.round(job.lapse.speed)} × as fast`}
        </p>
        {job.lapse && <Remarks lapse={job.lapse} />}
      </div>
    );
  }
  const percent = Math.round(job.progress * 100);
  return (
    <div class="progress">
      <label for="export-progress" class="figures">
        {job.state === "waiting" ? "waiting for its turn" : `${percent} % ${job.kind === "lapse" ? "made" : "written"}`}
      </label>
      <progress id="export-progress" max="1" value={job.state === "waiting" ? 0 : job.progress} />
    </div>
  );
}

interface FilmFields {
  length: string; // s
  format: FilmFormat;
  card: string;
  lit: boolean;
  clock: boolean;
}

function FilmForm({ film, onChange }: { film: FilmFields; onChange: (film: FilmFields) => void }) {
  return (
    <div class="film-form">
      <Field label="Length of the film, s" hint="1 to 3600. The work grows, what does it stands still, the light is even.">
        {(props) => <input {...props} type="number" min="1" max="3600" step="1" value={film.length} onInput={(e) => onChange({ ...film, length: e.currentTarget.value })} />}
      </Field>
      <Field label="Kind of film">
        {(props) => (
          <select {...props} value={film.format} onChange={(e) => onChange({ ...film, format: e.currentTarget.value as FilmFormat })}>
            <option value="mp4">MP4, plays anywhere</option>
            <option value="webm">WebM</option>
            <option value="webp">WebP, an animated picture</option>
          </select>
        )}
      </Field>
      <Field label="Title" hint="Shown for 2 s before the film. May stay empty.">
        {(props) => <input {...props} type="text" maxLength={100} value={film.card} onInput={(e) => onChange({ ...film, card: e.currentTarget.value })} />}
      </Field>
      <label class="check">
        <input type="checkbox" checked={film.lit} onChange={(e) => onChange({ ...film, lit: e.currentTarget.checked })} />
        leave out what was taken while a lamp was off
      </label>
      <label class="check">
        <input type="checkbox" checked={film.clock} onChange={(e) => onChange({ ...film, clock: e.currentTarget.checked })} />
        draw the time into the pictures
      </label>
    </div>
  );
}

function FilmView({ job }: { job: ExportAnswer }) {
  const address = `/api/v1/exports/${job.id}/file`;
  if (job.format === "webp") return <img class="film" src={address} alt={`Lapse of ${job.camera}`} />;
  return <video class="film" src={address} controls playsInline muted aria-label={`Lapse of ${job.camera}`} />;
}

function Remarks({ lapse }: { lapse: LapseFacts }) {
  const remarks = [
    lapse.remark !== "" && lapse.remark,
    lapse.pictures < lapse.wanted && `only ${countText(lapse.pictures)} pictures: nothing is shown twice, so the film is shorter than was asked for`,
    !lapse.chosen && "under two pictures a frame, none to choose between, so it is not steadied",
    lapse.chosen && !lapse.steady && "too little of the picture stood still to take knocks out by it",
    lapse.gone > 0 && `${countText(lapse.gone)} frames left out, since retention removed them meanwhile`,
    lapse.earlier > 0 && `${countText(lapse.earlier)} pictures left out, since the clock had been set back`,
    lapse.resized > 0 && `${countText(lapse.resized)} frames of another size than the film, framed in black`,
    lapse.empty > 0 && `${countText(lapse.empty)} frames left out, since nothing was recorded then`,
    lapse.dark > 0 && `${countText(lapse.dark)} frames left out, since a lamp was off`,
    lapse.damaged > 0 && `${countText(lapse.damaged)} damaged pictures left out`,
    lapse.limited > 0 && `${countText(lapse.limited)} frames too dark or too different to be levelled`,
    ...lapse.cuts.map((cut) => `cut at ${cut.film_s.toFixed(1)} s: ${cut.why}`),
  ].filter((one) => one !== false);
  if (remarks.length === 0) return null;
  return (
    <ul class="hint">
      {remarks.map((one) => (
        <li key={one}>{one}</li>
      ))}
    </ul>
  );
}
