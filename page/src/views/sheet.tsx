// The front page: the sheet of strips. One row a camera, its picture at the left, its day beside it.
import { computed, signal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { FIND_FROM, FindField } from "../find/find_field";
import { matches, needsLook } from "../find/match";
import { cameraLink } from "../route";
import { cameras, camerasProblem, isOwner, liveCount, loadCameras, station, statusOf, tick } from "../store";
import { useStrip } from "../strip/feed";
import { fittingView } from "../strip/fit";
import { HourAxis, Strip, StripKey } from "../strip/strip";
import { spanOf, type View } from "../strip/view";
import { ViewBar } from "../strip/view_bar";
import type { Camera } from "../types";
import { useOnScreen, useTitle } from "../ui/hooks";
import { ageText, Choice, ProblemNote, retryText, staleText, StateWord } from "../ui/parts";
import { LivePicture } from "../ui/picture";
import { bytesText, framesText } from "../words";

export const sheetView = signal<View>({ length: "day", start: null });
export const fitted = signal(false); // whether sheetView was fitted to what there is

// Once, at the first look at the sheet.
async function fitView(list: Camera[]): Promise<void> {
  if (fitted.value || list.length === 0) return;
  fitted.value = true;
  sheetView.value = await fittingView(list.map((camera) => camera.name));
}

// Which rows are shown: held while the page is open, so that coming back from a camera finds the same place.
const findText = signal("");
const onlyLook = signal(false);

// More cameras than this get low rows, unless somebody chose otherwise.
const LOW_FROM = 25;
type Rows = "high" | "low";
const ROWS: { value: Rows; label: string }[] = [
  { value: "high", label: "high" },
  { value: "low", label: "low" },
];
const ROWS_KEY = "rookery.rows";
const chosenRows = signal<Rows | null>(readRows());
function readRows(): Rows | null {
  try {
    const kept = localStorage.getItem(ROWS_KEY);
    return kept === "high" || kept === "low" ? kept : null;
  } catch {
    return null;
  }
}
function chooseRows(rows: Rows): void {
  chosenRows.value = rows;
  try {
    localStorage.setItem(ROWS_KEY, rows);
  } catch {
    // no storage in this browser: it holds until the page is closed
  }
}

const lookCount = computed(() => (cameras.value ?? []).filter((camera) => needsLook(statusOf(camera.name).value?.state)).length);

function shownRows(list: Camera[]): { camera: Camera; number: number }[] {
  return list
    .map((camera, i) => ({ camera, number: i + 1 }))
    .filter(({ camera }) => matches(camera, findText.value))
    .filter(({ camera }) => !onlyLook.value || needsLook(statusOf(camera.name).value?.state));
}

export function Sheet() {
  useTitle("sheet of strips");
  const list = cameras.value;
  useEffect(() => {
    if (list) void fitView(list);
  }, [list !== null && list.length > 0]);
  const span = spanOf(sheetView.value, tick.value);
  const many = list !== null && list.length >= FIND_FROM;
  const rows = chosenRows.value ?? (list !== null && list.length >= LOW_FROM ? "low" : "high");
  const shown = list ? (many ? shownRows(list) : list.map((camera, i) => ({ camera, number: i + 1 }))) : [];
  return (
    <div class={`sheet is-${rows}`}>
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
      {many && <FindBar rows={rows} shown={shown.length} total={list.length} />}
      {list && list.length === 0 && <EmptySheet />}
      {list && list.length > 0 && (
        <>
          <div class="sheet-axis">
            <HourAxis view={span} />
          </div>
          <ol class="rows">
            {shown.map(({ camera, number }) => (
              <SheetRow key={camera.name} camera={camera} number={number} from={span.from} to={span.to} low={rows === "low"} />
            ))}
          </ol>
          {shown.length === 0 && <NoRow />}
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

type Which = "all" | "look";

function FindBar({ rows, shown, total }: { rows: Rows; shown: number; total: number }) {
  const options: { value: Which; label: string }[] = [
    { value: "all", label: `all ${total}` },
    { value: "look", label: `to look at: ${lookCount.value}` },
  ];
  return (
    <div class="view-bar is-second" role="search" aria-label="Rows of the sheet">
      <FindField text={findText} label="find a camera" id="sheet-find" />
      <div class="cell">
        <Choice legend="rows" name="sheet-rows" value={rows} options={ROWS} onChange={chooseRows} />
      </div>
      <div class="cell">
        <Choice legend="cameras" name="sheet-which" value={onlyLook.value ? "look" : "all"} options={options} onChange={(which) => (onlyLook.value = which === "look")} />
      </div>
      <div class="cell is-wide">
        <span class="cell-name">on the sheet</span>
        <p class="cell-value figures" role="status">
          {shown === total ? `all ${total} cameras` : `${shown} of ${total} cameras`}
        </p>
      </div>
    </div>
  );
}

function NoRow() {
  return (
    <div class="empty">
      <p>{findText.value.trim() !== "" ? `No camera ${onlyLook.value ? "to look at " : ""}has “${findText.value.trim()}” in its name.` : "No camera needs a look now."}</p>
      <button
        type="button"
        onClick={() => {
          findText.value = "";
          onlyLook.value = false;
        }}
      >
        show all
      </button>
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
  low: boolean;
}

const HIGH_PX = 88;
const LOW_PX = 50;

// A strip is made when its row first comes near the screen, and then stays: whatever has the focus is not taken away.
function SheetRow({ camera, number, from, to, low }: RowProps) {
  const [row, shown] = useOnScreen<HTMLLIElement>();
  const seen = useRef(false);
  seen.current ||= shown;
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
        {!seen.current && <div class="strip" style={{ height: `${low ? LOW_PX : HIGH_PX}px` }} />}
        {seen.current && <Strip
          camera={camera.name}
          title={title}
          view={view}
          strip={feed.strip}
          recordings={feed.recordings}
          marks={feed.marks}
          height={low ? LOW_PX : HIGH_PX}
          resting={!shown}
          pickWord="plays that moment"
          onPick={(at) => {
            location.hash = cameraLink(camera.name, at);
          }}
        />}
        {problem && <p class="fault">Strip not read: {problem.detail} {problem.remedy}</p>}
      </div>
    </li>
  );
}
