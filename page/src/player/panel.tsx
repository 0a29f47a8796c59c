// The player: picture, time, transport and the strip under it. Keys work while the focus is anywhere inside.
import { signal, type Signal } from "@preact/signals";
import { useEffect, useRef, useState } from "preact/hooks";
import { MaskOverlay, MaskSwitch } from "../mask/overlay";
import { live, stationNow, statusOf, tick } from "../store";
import type { TimeSpan } from "../strip/data";
import { useStrip } from "../strip/feed";
import { HourAxis, Strip } from "../strip/strip";
import { spanOf, withLength, type View } from "../strip/view";
import { ViewBar } from "../strip/view_bar";
import { clockTenths, clockText, dayText, lengthText, parseTime, zoneText } from "../time";
import type { Camera } from "../types";
import { useWidth } from "../ui/hooks";
import { ProblemNote, retryText, staleText } from "../ui/parts";
import { paint } from "../ui/picture";
import { framesText } from "../words";
import { wishOfKey } from "./keys";
import { Player } from "./player";
import type { PlayerNote, PlayerState } from "./state";
import { Transport } from "./transport";
import { fittingView } from "../strip/fit";
import { fitted, sheetView } from "../views/sheet";

interface Props {
  camera: Camera;
  at: number | null;
  selection: Signal<TimeSpan | null>;
  keptRound: Signal<number>;
}

// Marks one end of the span; the other end gives way when it would be on the wrong side.
export function marked(old: TimeSpan | null, which: "from" | "to", at: number): TimeSpan {
  if (!old) return { from: at, to: at };
  const span = { ...old, [which]: at };
  return span.from <= span.to ? span : { from: at, to: at };
}

export function PlayerPanel({ camera, at, selection, keptRound }: Props) {
  const title = camera.title || camera.name;
  const canvas = useRef<HTMLCanvasElement | null>(null);
  const frame = useRef<HTMLDivElement | null>(null);
  const width = useWidth(frame);
  const [player] = useState(() => new Player(camera.name, (bitmap) => paint(canvas.current, bitmap)));
  const view = useFittedView(camera.name, at);
  const state = player.state.value;

  useEffect(() => () => player.end(), [player]);
  player.width_px = Math.max(160, Math.round(width * (window.devicePixelRatio || 1)));
  useEffect(() => {
    if (at !== null) player.wish({ do: "seek", at, play: true });
  }, [at, player]);
  const liveAt = useLivePicture(camera.name, canvas, width, state.mode === "live");

  const mark = (which: "from" | "to"): void => {
    // The player's own state, not the one last drawn: two keys may come between two drawings.
    selection.value = marked(selection.value, which, player.state.value.at ?? stationNow());
  };
  const onKeyDown = (event: KeyboardEvent): void => {
    if (event.altKey || event.ctrlKey || event.metaKey || isOwnKey(event)) return;
    const wanted = wishOfKey(event.key, event.shiftKey, player.state.value, stationNow());
    if (!wanted) return;
    event.preventDefault();
    if (wanted.do === "mark") mark(wanted.which);
    else player.wish(wanted);
  };

  const status = statusOf(camera.name).value;
  const stale = state.mode === "live" ? staleText(status) : null;
  const what = state.mode === "live" ? `Live picture of ${title}` : `Recorded picture of ${title}`;
  return (
    <section class="player" aria-label={`Player of ${title}`} onKeyDown={onKeyDown}>
      <div class={`picture is-large ${stale ? "is-stale" : ""}`} ref={frame} tabIndex={0} role="group" aria-label="Picture; keys of the player work here">
        <canvas ref={canvas} role="img" aria-label={what} width="4" height="3" data-picture={camera.name} data-mode={state.mode} data-waiting={state.waiting} />
        <MaskOverlay camera={camera} />
        {stale && <p class="picture-note is-band">{[stale, retryText(status)].filter(Boolean).join(" · ")}</p>}
        {state.note?.is === "gap" && <GapNote note={state.note} />}
      </div>
      <div class="player-side">
        <ReadOut state={state} liveAt={liveAt ?? parseTime(status?.last_frame_at)} rate={status?.state === "live" ? status.frames_per_s : null} />
        <Transport player={player} onMark={mark} />
        <MaskSwitch camera={camera} />
        <Note note={state.note} />
      </div>
      <ScrubStrip camera={camera} player={player} view={view} selection={selection} keptRound={keptRound} />
    </section>
  );
}

function viewAround(at: number | null, sheet: View): View {
  if (at === null) return sheet;
  const span = spanOf(sheet, stationNow());
  return at >= span.from && at < span.to ? sheet : withLength(sheet, sheet.length, at, stationNow());
}

// The paper of the sheet, when one comes from there; a page opened directly finds its own length, unless the person was
// faster.
function useFittedView(camera: string, at: number | null): Signal<View> {
  const [view] = useState(() => signal<View>(viewAround(at, sheetView.value)));
  useEffect(() => {
    if (fitted.value) return;
    const first = view.value;
    void fittingView([camera]).then((fitting) => {
      if (view.value === first) view.value = viewAround(at, fitting);
    });
  }, []);
  return view;
}

// Keys that a focused control needs for itself: text fields take all, radios the arrows, buttons the space bar.
function isOwnKey(event: KeyboardEvent): boolean {
  const target = event.target;
  if (target instanceof HTMLInputElement) {
    return target.type === "radio" ? event.key === " " || event.key.startsWith("Arrow") : true;
  }
  if (target instanceof HTMLSelectElement || target instanceof HTMLTextAreaElement) return true;
  const pressed = target instanceof HTMLButtonElement || (target instanceof HTMLElement && target.tagName === "SUMMARY");
  return pressed && event.key === " ";
}

// The large live picture; asked for only while nothing is played back. Returns the shown picture's time.
function useLivePicture(camera: string, canvas: { current: HTMLCanvasElement | null }, width: number, wanted: boolean): number | null {
  const [at] = useState(() => signal<number | null>(null));
  useEffect(() => {
    if (!wanted || width === 0) return;
    const place = live.addPlace(camera, (bitmap, picture) => {
      paint(canvas.current, bitmap);
      at.value = picture.at;
    });
    place.set(Math.round(width * (window.devicePixelRatio || 1)), true);
    return () => place.remove();
  }, [camera, width, wanted]);
  // What was shown before playback is no longer the time of what will be shown after it.
  useEffect(() => {
    if (!wanted) at.value = null;
  }, [wanted]);
  return at.value;
}

function ReadOut({ state, liveAt, rate }: { state: PlayerState; liveAt: number | null; rate: number | null }) {
  // Until the first picture is drawn: the time of the newest that the station has.
  const at = state.mode === "live" ? liveAt : state.at;
  const shown = at ?? tick.value;
  return (
    <div class="read-out">
      <p class="read-mode">{modeText(state)}</p>
      <p class="read-time">
        <time class="figures" data-read-out dateTime={at === null ? undefined : new Date(at).toISOString()}>
          {at === null ? "no picture yet" : clockTenths(at)}
        </time>
      </p>
      <p class="read-day figures">
        {dayText(shown)} {zoneText(shown)}
        {state.mode === "live" && rate !== null && ` · ${framesText(rate)}`}
      </p>
    </div>
  );
}

function modeText(state: PlayerState): string {
  if (state.mode === "live") return "live";
  if (state.mode === "paused") return "standing";
  const speed = state.speed === 1 ? "" : ` at ${state.speed} ×`;
  return `playing ${state.forward ? "forward" : "backward"}${speed}`;
}

function GapNote({ note }: { note: PlayerNote & { is: "gap" } }) {
  return (
    <p class="picture-note is-band">
      nothing recorded {clockText(note.from)}–{clockText(note.to)}
    </p>
  );
}

const END_WORDS: Record<string, string> = {
  "start": "This is the start of the recording.",
  "end": "This is the end of the recording.",
  "nothing recorded": "Nothing of this camera is recorded here.",
};

function Note({ note }: { note: PlayerNote | null }) {
  return (
    <div class="player-note" role="status">
      {note?.is === "gap" && (
        <p>
          Gap: nothing is recorded from {clockText(note.from)} to {clockText(note.to)} ({lengthText(note.to - note.from)}). Playback goes on behind it.
        </p>
      )}
      {note?.is === "end" && <p>{END_WORDS[note.reason] ?? `Playback ended: ${note.reason}.`}</p>}
      {note?.is === "problem" && (
        <p>
          {note.title}. {note.detail} {note.remedy}
        </p>
      )}
    </div>
  );
}

interface ScrubProps {
  camera: Camera;
  player: Player;
  view: Signal<View>;
  selection: Signal<TimeSpan | null>;
  keptRound: Signal<number>;
}

const SCRUB_EVERY_MS = 150;

function ScrubStrip({ camera, player, view, selection, keptRound }: ScrubProps) {
  const span = spanOf(view.value, tick.value);
  const feed = useStrip(camera.name, span, true);
  const lastScrub = useRef(0);
  useEffect(() => {
    if (keptRound.value > 0) feed.again();
  }, [keptRound.value]);
  const at = player.state.value.at;
  const scrub = (to: number): void => {
    if (Date.now() - lastScrub.current < SCRUB_EVERY_MS) return;
    lastScrub.current = Date.now();
    player.wish({ do: "seek", at: to, play: false });
  };
  return (
    <div class="scrub">
      <ViewBar view={view} name="camera" focus={() => player.state.value.at} />
      <div class="scrub-strip">
        <HourAxis view={span} />
        <Strip
          camera={camera.name}
          title={camera.title || camera.name}
          view={span}
          strip={feed.strip}
          recordings={feed.recordings}
          marks={feed.marks}
          height={112}
          pickWord="plays from that moment"
          position={at}
          selection={selection.value}
          onSelect={(selected) => (selection.value = selected)}
          onScrub={scrub}
          onPick={(to) => player.wish({ do: "seek", at: to, play: true })}
        />
      </div>
      {feed.problem && <ProblemNote problem={feed.problem} />}
    </div>
  );
}
