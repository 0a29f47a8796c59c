// One camera's strip: the drawn trace with a cursor for mouse, touch and keyboard, and a span that can be marked.
import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { cameraPath } from "../api";
import { tick } from "../store";
import { clockText, dayText, lengthText, minuteText, toRfc3339 } from "../time";
import { causeText, motionText } from "../words";
import { scheme, useWidth } from "../ui/hooks";
import { Health, isCounted, isIn, stepAt, STILL_GROWING_MS, marksAt, type EventMark, type Recordings, type StripData, type TimeSpan } from "./data";
import { drawStrip, readColours } from "./draw";
import { rulesOf } from "./view";

const HEALTH_WORDS: Record<Health, string> = {
  [Health.none]: "not running",
  [Health.live]: "live",
  [Health.rough]: "rough: broken pictures or gaps",
  [Health.down]: "down: no pictures came",
};

interface Props {
  camera: string;
  title: string;
  view: TimeSpan;
  strip: StripData | null;
  recordings: Recordings | null;
  marks: EventMark[];
  height: number;
  onPick: (at: number) => void;
  pickWord: string; // what Enter or a click does, for those who listen
  onScrub?: (at: number) => void; // while a finger or the mouse drags
  position?: number | null; // where playback stands
  selection?: TimeSpan | null;
  onSelect?: (span: TimeSpan) => void;
  resting?: boolean; // off the screen: it does not follow the clock and is not drawn again
}

// What is known of the recording at `at`, in words.
function recordedWords(recordings: Recordings | null, at: number, now: number): string {
  if (!recordings || at > now) return at > now ? "not yet" : "";
  const last = recordings.spans.at(-1);
  const growing = last !== undefined && now - last.to < STILL_GROWING_MS && at >= last.to;
  if (!growing && !isIn(recordings.spans, at)) return "not recorded";
  return isIn(recordings.kept, at) ? "recorded and kept" : "recorded";
}

function readOut(props: Props, at: number, now: number): string[] {
  const words = [clockText(at)];
  if (at <= now && isCounted(props.strip, at, now)) {
    const step = stepAt(props.strip, at);
    if (step.health !== Health.none) words.push(motionText(step.energy));
    words.push(HEALTH_WORDS[step.health]);
  }
  // A finger or a mouse is a pixel or two off.
  const slack = (props.view.to - props.view.from) / 500;
  for (const mark of marksAt(props.marks, at, slack).slice(0, 2)) {
    words.push(`event: ${causeText(mark.cause)}${mark.to !== null && mark.to > mark.from ? `, ${lengthText(mark.to - mark.from)}` : ""}`);
  }
  const recorded = recordedWords(props.recordings, at, now);
  if (recorded) words.push(recorded);
  return words;
}

const share = (at: number, view: TimeSpan): number => (at - view.from) / (view.to - view.from);
const percent = (value: number): string => `${(Math.min(1, Math.max(0, value)) * 100).toFixed(3)}%`;

function SelectionMark({ span, view }: { span: TimeSpan; view: TimeSpan }) {
  const from = share(span.from, view);
  const to = share(span.to, view);
  if (to < 0 || from > 1) return null;
  const width = Math.min(1, to) - Math.max(0, from);
  return <div class="strip-selection" style={{ left: percent(from), width: percent(width) }} />;
}

// The canvas is drawn again when its numbers change, each second for the line "now", and when the scheme changes.
function useDrawing(props: Props, canvas: { current: HTMLCanvasElement | null }, width: number, now: number): void {
  const { view, strip, recordings, marks, height } = props;
  const nowX = Math.round(share(now, view) * width * 2);
  useEffect(() => {
    if (!canvas.current || width === 0 || props.resting) return;
    drawStrip(canvas.current, width, height, { view, now, strip, recordings, marks }, readColours(canvas.current));
  }, [width, height, view.from, view.to, strip, recordings, marks, nowX, scheme.value, props.resting]);
}

// Keys while the strip has the focus. Returns where the cursor goes; null for keys that are not ours.
function keyTarget(key: string, shift: boolean, at: number, view: TimeSpan, now: number): number | null {
  const length = view.to - view.from;
  const step = Math.max(1000, Math.round(length / 240_000) * 1000) * (shift ? 10 : 1);
  const last = Math.min(view.to, now);
  const moves: Record<string, number> = {
    ArrowLeft: at - step,
    ArrowDown: at - step,
    ArrowRight: at + step,
    ArrowUp: at + step,
    PageDown: at - length / 12,
    PageUp: at + length / 12,
    Home: view.from,
    End: last,
  };
  const target = moves[key];
  return target === undefined ? null : Math.min(Math.max(target, view.from), last);
}

export function Strip(props: Props) {
  const { view, title } = props;
  const frame = useRef<HTMLDivElement | null>(null);
  const canvas = useRef<HTMLCanvasElement | null>(null);
  const width = useWidth(frame);
  const [cursor, setCursor] = useState<number | null>(null);
  const drag = useRef<{ from: number; selecting: boolean; moved: boolean } | null>(null);
  const now = props.resting ? tick.peek() : tick.value;
  useDrawing(props, canvas, width, now);

  const timeAt = (event: PointerEvent): number => {
    const box = frame.current?.getBoundingClientRect();
    if (!box || box.width === 0) return view.from;
    const part = Math.min(1, Math.max(0, (event.clientX - box.left) / box.width));
    return Math.min(view.from + part * (view.to - view.from), Math.max(view.from, now));
  };

  const onPointerDown = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    const at = timeAt(event);
    drag.current = { from: at, selecting: props.onSelect !== undefined && event.shiftKey, moved: false };
    frame.current?.setPointerCapture(event.pointerId);
  };
  const onPointerMove = (event: PointerEvent): void => {
    const at = timeAt(event);
    setCursor(at);
    const held = drag.current;
    if (!held) return;
    held.moved ||= Math.abs(share(at, view) - share(held.from, view)) * width > 3;
    if (!held.moved) return;
    if (held.selecting) props.onSelect?.({ from: Math.min(held.from, at), to: Math.max(held.from, at) });
    else props.onScrub?.(at);
  };
  const onPointerUp = (event: PointerEvent): void => {
    const held = drag.current;
    drag.current = null;
    if (!held || held.selecting || (held.moved && !props.onScrub)) return;
    props.onPick(timeAt(event));
  };

  const at = cursor ?? props.position ?? Math.min(now, view.to);
  const onKeyDown = (event: KeyboardEvent): void => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === "Enter") {
      event.preventDefault();
      event.stopPropagation();
      props.onPick(at);
      return;
    }
    if (event.key === "Escape") return setCursor(null);
    const target = keyTarget(event.key, event.shiftKey, at, view, now);
    if (target === null) return;
    event.preventDefault();
    event.stopPropagation();
    setCursor(target);
  };

  const words = readOut(props, at, now);
  return (
    <div
      class="strip"
      data-steps={props.strip?.energy.length ?? 0}
      ref={frame}
      style={{ height: `${props.height}px` }}
      role="slider"
      tabIndex={0}
      aria-label={`Strip of ${title}, ${dayText(view.from)}, ${minuteText(view.from)} to ${minuteText(view.to)}. Enter ${props.pickWord}.`}
      aria-orientation="horizontal"
      aria-valuemin={Math.round(view.from / 1000)}
      aria-valuemax={Math.round(view.to / 1000)}
      aria-valuenow={Math.round(Math.min(Math.max(at, view.from), view.to) / 1000)}
      aria-valuetext={words.join(", ")}
      onPointerDown={onPointerDown}
      onPointerMove={onPointerMove}
      onPointerUp={onPointerUp}
      onPointerCancel={() => (drag.current = null)}
      onPointerLeave={() => {
        if (!drag.current) setCursor(null);
      }}
      onBlur={() => setCursor(null)}
      onKeyDown={onKeyDown}
    >
      <canvas ref={canvas} aria-hidden="true" />
      {props.selection && <SelectionMark span={props.selection} view={view} />}
      {props.position !== undefined && props.position !== null && share(props.position, view) >= 0 && share(props.position, view) <= 1 && (
        <div class="strip-position" style={{ left: percent(share(props.position, view)) }} />
      )}
      {cursor !== null && (
        <CursorMark words={words} part={share(cursor, view)}>
          <Glimpse camera={props.camera} at={glimpseAt(props, cursor, width, now)} />
        </CursorMark>
      )}
    </div>
  );
}

// The moment whose recorded still is shown over the cursor; null where nothing is recorded. Moments closer than two pixels
// are one, so that a moving hand does not ask for a hundred stills.
function glimpseAt(props: Props, cursor: number, width: number, now: number): number | null {
  const { view, recordings } = props;
  if (!recordings || width === 0) return null;
  const grid = Math.max(1000, ((view.to - view.from) / width) * 2);
  const at = Math.round(cursor / grid) * grid;
  return at < now && isIn(recordings.spans, at) ? at : null;
}

const REST_MS = 140;

// A small still of what was recorded there, once the cursor rests.
function Glimpse({ camera, at }: { camera: string; at: number | null }) {
  const [rested, setRested] = useState<number | null>(null);
  useEffect(() => {
    const timer = window.setTimeout(() => setRested(at), REST_MS);
    return () => window.clearTimeout(timer);
  }, [at]);
  if (rested === null || at === null) return null;
  const address = `${cameraPath(camera)}/recorded.jpg?at=${toRfc3339(rested)}&width=160`;
  return <img class="glimpse" src={address} alt="" width="160" height="120" />;
}

function CursorMark({ words, part, children }: { words: string[]; part: number; children: ComponentChildren }) {
  const [time, ...rest] = words;
  return (
    <div class={`strip-cursor ${part > 0.5 ? "is-left" : ""}`} style={{ left: percent(part) }} aria-hidden="true">
      <span class="strip-read">
        {children}
        <span class="strip-words">
          <b>{time}</b>
          {rest.map((word) => (
            <span key={word}>{word}</span>
          ))}
        </span>
      </span>
    </div>
  );
}

// The hours above strips, at the same places as the rulings.
export function HourAxis({ view }: { view: TimeSpan }) {
  const strong = rulesOf(view).filter((rule) => rule.strong);
  return (
    <div class="hours" aria-hidden="true">
      {strong.map((rule, i) => {
        const part = share(rule.at, view);
        const edge = part < 0.02 ? "is-first" : part > 0.98 ? "is-last" : "";
        return (
          <span key={rule.at} class={`${edge} ${i % 2 === 1 ? "is-odd" : ""}`} style={{ left: percent(part) }}>
            {minuteText(rule.at)}
          </span>
        );
      })}
    </div>
  );
}

// What the marks mean, once at the foot of the sheet.
export function StripKey({ view }: { view: TimeSpan }) {
  return (
    <dl class="key" aria-label="Key to the strips">
      <div>
        <dt class="key-trace" />
        <dd>motion, share of the picture that changed (square-root scale, top = 25 %)</dd>
      </div>
      <div>
        <dt class="key-rough" />
        <dd>rough: broken pictures or gaps</dd>
      </div>
      <div>
        <dt class="key-down" />
        <dd>down: no pictures came</dd>
      </div>
      <div>
        <dt class="key-recorded" />
        <dd>recorded</dd>
      </div>
      <div>
        <dt class="key-kept" />
        <dd>kept</dd>
      </div>
      <div>
        <dt />
        <dd>whole width {lengthText(view.to - view.from)}</dd>
      </div>
    </dl>
  );
}
