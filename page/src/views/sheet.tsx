// The front page: the sheet of strips. One row a camera, its picture at the left, its day beside it.
import { signal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { call, cameraPath } from "../api";
import { cameraLink } from "../route";
import { cameras, camerasProblem, isOwner, liveCount, loadCameras, loadStation, station, stationNow, statusOf, tick } from "../store";
import { useStrip } from "../strip/feed";
import { HourAxis, Strip, StripKey } from "../strip/strip";
import { fittingLength, spanOf, type View } from "../strip/view";
import { ViewBar } from "../strip/view_bar";
import { dayStart, MINUTE, parseTime, toRfc3339 } from "../time";
import type { Camera, RecordingsAnswer } from "../types";
import { useOnScreen, useTitle } from "../ui/hooks";
import { ageText, ProblemNote, retryText, staleText, StateWord } from "../ui/parts";
import { LivePicture } from "../ui/picture";
import { bytesText, framesText } from "../words";

export const sheetView = signal<View>({ length: "day", start: null });
let fitted = false;

// Once, at the first look: paper as long as there is something to see on it.
async function fitView(list: Camera[]): Promise<void> {
  if (fitted || list.length === 0) return;
  fitted = true;
  const now = stationNow();
  const query = `from=${toRfc3339(Math.max(dayStart(now), now - MINUTE))}&to=${toRfc3339(now)}`;
  const answers = await Promise.allSettled(
    list.slice(0, 12).map((camera) => call<RecordingsAnswer>(`${cameraPath(camera.name)}/recordings?${query}`)),
  );
  const firsts = answers.map((one) => (one.status === "fulfilled" ? parseTime(one.value.first) : null));
  const known = firsts.filter((at): at is number => at !== null);
  // Nothing recorded yet: the station's own start is the oldest that there can be.
  if (known.length === 0) await loadStation().catch(() => {});
  const began = known.length > 0 ? Math.min(...known) : parseTime(station.value?.started_at);
  sheetView.value = { length: fittingLength(began, now), start: null };
}

export function Sheet() {
  useTitle("sheet of strips");
  const list = cameras.value;
  useEffect(() => {
    if (list) void fitView(list);
  }, [list !== null && list.length > 0]);
  const span = spanOf(sheetView.value, tick.value);
  return (
    <div class="sheet">
      <div class="sheet-head">
        <h1>Sheet of strips</h1>
        <SheetFacts />
      </div>
      {camerasProblem.value && (
        <>
          <ProblemNote problem={camerasProblem.value} />
          <button type="button" onClick={() => void loadCameras()}>
            try again
          </button>
        </>
      )}
      <ViewBar view={sheetView} name="sheet" />
      {list && list.length === 0 && <EmptySheet />}
      {list && list.length > 0 && (
        <>
          <div class="sheet-axis">
            <HourAxis view={span} />
          </div>
          <ol class="rows">
            {list.map((camera, i) => (
              <SheetRow key={camera.name} camera={camera} number={i + 1} from={span.from} to={span.to} />
            ))}
          </ol>
          <StripKey view={span} />
        </>
      )}
      {isOwner.value && list && (
        <p class="sheet-foot">
          <a class="button" href="#/add">
            add a camera
          </a>
        </p>
      )}
    </div>
  );
}

function SheetFacts() {
  const facts = station.value;
  const total = cameras.value?.length ?? 0;
  return (
    <p class="facts figures" aria-live="off">
      {total > 0 && (
        <span>
          {liveCount.value} of {total} {total === 1 ? "camera" : "cameras"} live
        </span>
      )}
      {facts && <span>{bytesText(facts.archive.free_bytes)} free on the disk</span>}
    </p>
  );
}

function EmptySheet() {
  return (
    <div class="empty">
      <p>No camera is on this sheet yet.</p>
      {isOwner.value ? <p>Add the first one with its stream address; it appears here within a second.</p> : <p>An owner can give you cameras to see.</p>}
    </div>
  );
}

interface RowProps {
  camera: Camera;
  number: number;
  from: number;
  to: number;
}

function SheetRow({ camera, number, from, to }: RowProps) {
  const [row, shown] = useOnScreen<HTMLLIElement>();
  const status = statusOf(camera.name).value;
  const title = camera.title || camera.name;
  const view = { from, to };
  const feed = useStrip(camera.name, view, shown);
  const problem = feed.problem;
  return (
    <li class="row" ref={row} data-camera={camera.name}>
      <span class="row-number figures" aria-hidden="true">
        {number}
      </span>
      <a class="row-picture" href={cameraLink(camera.name)}>
        <LivePicture camera={camera.name} title={title} stale={staleText(status)} />
      </a>
      <div class="row-words">
        <h2>
          <a href={cameraLink(camera.name)}>{title}</a>
        </h2>
        {camera.title && <p class="row-name">{camera.name}</p>}
        <StateWord status={status} />
        <p class="row-facts figures">
          {status?.state === "live" ? framesText(status.frames_per_s) : (retryText(status) ?? ageText(status) ?? "no picture yet")}
        </p>
      </div>
      <div class="row-strip">
        <Strip
          camera={camera.name}
          title={title}
          view={view}
          strip={feed.strip}
          recordings={feed.recordings}
          height={88}
          pickWord="plays that moment"
          onPick={(at) => {
            location.hash = cameraLink(camera.name, at);
          }}
        />
        {problem && <p class="fault">Strip not read: {problem.detail} {problem.remedy}</p>}
      </div>
    </li>
  );
}
