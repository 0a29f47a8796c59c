// The wall: live pictures only, as a contact sheet. Which cameras and how large is remembered in this browser.
import { signal, useSignal } from "@preact/signals";
import { FIND_FROM, FindField } from "../find/find_field";
import { matches } from "../find/match";
import { cameraLink } from "../route";
import { cameras, statusOf } from "../store";
import type { Camera } from "../types";
import { useTitle } from "../ui/hooks";
import { Choice, staleText, StateWord } from "../ui/parts";
import { LivePicture } from "../ui/picture";
import { framesText } from "../words";

type Size = "small" | "medium" | "large";
const SIZES: { value: Size; label: string }[] = [
  { value: "small", label: "small" },
  { value: "medium", label: "medium" },
  { value: "large", label: "large" },
];

interface Kept {
  size: Size;
  hidden: string[];
}

const KEY = "rookery.wall";
function readKept(): Kept {
  try {
    const value = JSON.parse(localStorage.getItem(KEY) ?? "{}") as Partial<Kept>;
    const size = SIZES.some((one) => one.value === value.size) ? (value.size as Size) : "medium";
    return { size, hidden: Array.isArray(value.hidden) ? value.hidden.map(String) : [] };
  } catch {
    return { size: "medium", hidden: [] };
  }
}
const kept = signal<Kept>(readKept());
const findText = signal("");
function keep(next: Partial<Kept>): void {
  kept.value = { ...kept.value, ...next };
  try {
    localStorage.setItem(KEY, JSON.stringify(kept.value));
  } catch {
    // no storage in this browser: it holds until the page is closed
  }
}

export function Wall() {
  useTitle("wall");
  const choosing = useSignal(false);
  const list = cameras.value ?? [];
  const many = list.length >= FIND_FROM;
  const chosen = list.filter((camera) => !kept.value.hidden.includes(camera.name));
  const shown = many ? chosen.filter((camera) => matches(camera, findText.value)) : chosen;
  return (
    <div class="wall">
      <div class="sheet-head">
        <h1>Wall</h1>
        <p class="facts figures">
          <span>
            {shown.length} of {list.length} cameras shown
          </span>
        </p>
      </div>
      <div class="view-bar">
        <div class="cell">
          <Choice legend="size" name="wall-size" value={kept.value.size} options={SIZES} onChange={(size) => keep({ size })} />
        </div>
        {many && <FindField text={findText} label="find a camera" id="wall-find" />}
        <div class="cell">
          <span class="cell-name">cameras</span>
          <button type="button" class="quiet" aria-expanded={choosing.value} aria-controls="wall-choice" onClick={() => (choosing.value = !choosing.value)}>
            {choosing.value ? "done choosing" : "choose cameras"}
          </button>
        </div>
      </div>
      <div id="wall-choice" hidden={!choosing.value}>
        <CameraChoice list={list} />
      </div>
      {chosen.length === 0 && list.length > 0 && <p class="empty">No camera is chosen.</p>}
      {chosen.length > 0 && shown.length === 0 && <p class="empty">No camera on the wall has “{findText.value.trim()}” in its name.</p>}
      <ul class={`prints is-${kept.value.size}`}>
        {shown.map((camera) => (
          <Print key={camera.name} camera={camera} />
        ))}
      </ul>
    </div>
  );
}

function CameraChoice({ list }: { list: Camera[] }) {
  const set = (name: string, shown: boolean): void => {
    const others = kept.value.hidden.filter((one) => one !== name);
    keep({ hidden: shown ? others : [...others, name] });
  };
  const offered = list.filter((camera) => matches(camera, findText.value));
  const setAll = (shown: boolean): void => {
    const names = new Set(offered.map((camera) => camera.name));
    const others = kept.value.hidden.filter((name) => !names.has(name));
    keep({ hidden: shown ? others : [...others, ...names] });
  };
  return (
    <fieldset class="checks">
      <legend>
        Cameras on the wall
        {list.length >= FIND_FROM && (
          <span class="checks-all">
            <button type="button" class="quiet" onClick={() => setAll(true)}>
              choose {offered.length === list.length ? "all" : `these ${offered.length}`}
            </button>
            <button type="button" class="quiet" onClick={() => setAll(false)}>
              choose none {offered.length === list.length ? "" : "of them"}
            </button>
          </span>
        )}
      </legend>
      {offered.map((camera) => (
        <label key={camera.name}>
          <input
            type="checkbox"
            checked={!kept.value.hidden.includes(camera.name)}
            onChange={(event) => set(camera.name, event.currentTarget.checked)}
          />
          <span>{camera.title || camera.name}</span>
        </label>
      ))}
    </fieldset>
  );
}

function Print({ camera }: { camera: Camera }) {
  const status = statusOf(camera.name).value;
  const title = camera.title || camera.name;
  return (
    <li class="print">
      <a href={cameraLink(camera.name)}>
        <LivePicture camera={camera.name} title={title} stale={staleText(status)} />
      </a>
      <p class="print-words">
        <span class="print-title">{title}</span>
        <StateWord status={status} />
        {status?.state === "live" && <span class="figures print-rate">{framesText(status.frames_per_s)}</span>}
      </p>
    </li>
  );
}
