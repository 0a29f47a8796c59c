// The focus aid: one large number for whoever turns a lens, with the best so far. Reads every picture that comes, whole size.
import { signal, useSignal, type Signal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { cameraLink } from "../route";
import { cameraTitle, live, statusOf, tick } from "../store";
import { useTitle, useWidth, scheme } from "../ui/hooks";
import { Choice, staleText } from "../ui/parts";
import { laplacianVariance, MIDDLE, moved, NO_READINGS, numberText, pixelsOf, readingsPerS, SIZES, toGrey, TRACE_MS, withReading, type Part, type Readings } from "./sharpness";

const WHOLE_PX = 16_384; // the most that may be asked for, wider than any picture: it comes as the board sent it
const PART_CHOICES = SIZES.map((size) => ({ value: String(size), label: size === 0.1 ? "small" : size === 0.25 ? "middle" : "large" }));
const chosenPart = signal<Part>(MIDDLE); // held while the page is open

export function FocusPage({ name }: { name: string }) {
  const title = cameraTitle(name);
  useTitle(`focus · ${title}`);
  const readings = useSignal<Readings>(NO_READINGS);
  const canvas = useRef<HTMLCanvasElement | null>(null);
  const close = useRef<HTMLCanvasElement | null>(null);
  const part = chosenPart.value;
  const anew = (): void => {
    readings.value = NO_READINGS;
  };
  useReadings(name, canvas, close, readings);
  const choose = (next: Part): void => {
    chosenPart.value = next;
    anew();
  };
  const status = statusOf(name).value;
  const stale = staleText(status);
  return (
    <div class="focus">
      <div class="sheet-head">
        <h1>Focus</h1>
        <p class="row-name">{title}</p>
        <a href={cameraLink(name)}>back to the camera</a>
      </div>
      <div class="focus-desk">
        <div class="focus-number">
          <Figure readings={readings.value} />
          <button type="button" onClick={anew}>
            begin anew
          </button>
          <Trace readings={readings} />
        </div>
        <div class="focus-pictures">
          <PartPicker name={name} canvas={canvas} part={part} stale={stale} title={title} onChange={choose} />
          <canvas ref={close} class="focus-close" width="4" height="4" role="img" aria-label="The chosen part, pixel by pixel" />
        </div>
        <Choice legend="part that is read" name="focus-size" value={String(part.size)} options={PART_CHOICES} onChange={(size) => choose({ ...part, size: Number(size) })} />
        <p class="hint">
          Point at something with fine detail, as far away as what the camera shall watch, and keep its light as it is. Drag the frame over it, or move it with the arrow
          keys. Turn the lens slowly past the best and back to it. The number is the variance of the Laplacian: it compares this picture with itself, and no camera with
          another.
        </p>
      </div>
    </div>
  );
}

// Reads every picture that comes, at its own size.
function useReadings(name: string, canvas: { current: HTMLCanvasElement | null }, close: { current: HTMLCanvasElement | null }, readings: Signal<Readings>): void {
  useEffect(() => {
    let width = 0;
    const place = live.addPlace(name, (bitmap) => {
      const context = canvas.current?.getContext("2d", { alpha: false, willReadFrequently: true });
      if (!canvas.current || !context) return;
      // A picture of another size is another scale of sharpness.
      if (bitmap.width !== width) readings.value = NO_READINGS;
      width = bitmap.width;
      canvas.current.width = bitmap.width;
      canvas.current.height = bitmap.height;
      context.drawImage(bitmap, 0, 0);
      const { x, y, side } = pixelsOf(chosenPart.value, bitmap.width, bitmap.height);
      const pixels = context.getImageData(x, y, side, side);
      readings.value = withReading(readings.value, laplacianVariance(toGrey(pixels.data, side, side)), performance.now());
      if (!close.current) return;
      close.current.width = side;
      close.current.height = side;
      close.current.getContext("2d", { alpha: false })?.putImageData(pixels, 0, 0);
    });
    place.set(WHOLE_PX, true);
    return () => place.remove();
  }, [name]);
}

function Figure({ readings }: { readings: Readings }) {
  tick.value;
  const { last, best } = readings;
  const share = last !== null && best !== null && best > 0 ? Math.round((100 * last) / best) : null;
  const rate = readingsPerS(readings.trace, performance.now());
  const at_best = share !== null && share >= 98;
  return (
    <div>
      <p class={`focus-figure figures ${at_best ? "is-best" : ""}`} data-readings={readings.count} aria-hidden="true">
        {last === null ? "–" : numberText(last)}
      </p>
      <p class="figures" role="status">
        {best === null ? "no picture yet" : `${share} % of the best so far, ${numberText(best)}`}
        {at_best && " · best"}
      </p>
      <p class="hint figures">{rate === null ? "" : `${rate.toFixed(1)} readings/s${rate < 5 ? ": turn slowly" : ""}`}</p>
    </div>
  );
}

function drawTrace(canvas: HTMLCanvasElement, width: number, readings: Readings): void {
  const ratio = window.devicePixelRatio || 1;
  const height = 120;
  canvas.width = Math.round(width * ratio);
  canvas.height = Math.round(height * ratio);
  const context = canvas.getContext("2d");
  if (!context) return;
  context.scale(ratio, ratio);
  const style = getComputedStyle(canvas);
  const colour = (name: string): string => style.getPropertyValue(name).trim();
  const now = performance.now();
  const most = Math.max(readings.best ?? 0, 1e-6) * 1.1;
  const x = (at: number): number => width * (1 - (now - at) / TRACE_MS);
  const y = (value: number): number => height - 2 - (value / most) * (height - 4);
  context.strokeStyle = colour("--rule-strong");
  context.strokeRect(0.5, 0.5, width - 1, height - 1);
  if (readings.best !== null) {
    context.strokeStyle = colour("--amber");
    context.setLineDash([6, 4]);
    context.beginPath();
    context.moveTo(0, y(readings.best));
    context.lineTo(width, y(readings.best));
    context.stroke();
    context.setLineDash([]);
  }
  context.strokeStyle = colour("--trace");
  context.lineWidth = 2;
  context.beginPath();
  readings.trace.forEach(({ at, value }, i) => (i === 0 ? context.moveTo(x(at), y(value)) : context.lineTo(x(at), y(value))));
  context.stroke();
}

function Trace({ readings }: { readings: Signal<Readings> }) {
  const frame = useRef<HTMLDivElement | null>(null);
  const canvas = useRef<HTMLCanvasElement | null>(null);
  const width = useWidth(frame);
  const now = readings.value;
  useEffect(() => {
    if (canvas.current && width > 0) drawTrace(canvas.current, width, now);
  }, [now, width, scheme.value]);
  return (
    <div class="focus-trace" ref={frame}>
      <canvas ref={canvas} aria-hidden="true" style={{ width: "100%", height: "120px" }} />
      <p class="hint">the last {TRACE_MS / 1000} s; dashed: the best so far</p>
    </div>
  );
}

const STEP = 0.02;
const KEYS: Record<string, [number, number]> = { ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0], ArrowUp: [0, -STEP], ArrowDown: [0, STEP] };

interface PickerProps {
  canvas: { current: HTMLCanvasElement | null };
  part: Part;
  stale: string | null;
  name: string;
  title: string;
  onChange: (part: Part) => void;
}

// The whole picture with a frame about the part; dragged, or moved with the arrow keys.
function PartPicker({ name, canvas, part, stale, title, onChange }: PickerProps) {
  const frame = useRef<HTMLDivElement | null>(null);
  const point = (event: PointerEvent): void => {
    const box = frame.current?.getBoundingClientRect();
    if (!box || box.width === 0) return;
    onChange({ ...part, x: Math.min(1, Math.max(0, (event.clientX - box.left) / box.width)), y: Math.min(1, Math.max(0, (event.clientY - box.top) / box.height)) });
  };
  const shape = canvas.current && canvas.current.width > 4 ? canvas.current.width / canvas.current.height : 4 / 3;
  const side = part.size;
  const left = Math.min(Math.max(part.x - side / 2, 0), 1 - side);
  const high = Math.min(1, side * shape);
  const top = Math.min(Math.max(part.y - high / 2, 0), 1 - high);
  return (
    <div
      class={`picture focus-picture ${stale ? "is-stale" : ""}`}
      ref={frame}
      tabIndex={0}
      role="group"
      aria-label={`Live picture of ${title}; the arrow keys move the part that is read`}
      onPointerDown={(event) => {
        frame.current?.setPointerCapture(event.pointerId);
        point(event);
      }}
      onPointerMove={(event) => event.buttons > 0 && point(event)}
      onKeyDown={(event) => {
        const by = KEYS[event.key];
        if (!by) return;
        event.preventDefault();
        onChange(moved(part, by[0], by[1]));
      }}
    >
      <canvas ref={canvas} role="img" aria-label={`Live picture of ${title}`} width="4" height="3" data-picture={name} />
      <div class="focus-part" style={{ left: `${100 * left}%`, top: `${100 * top}%`, width: `${100 * side}%`, height: `${100 * high}%` }} aria-hidden="true" />
      {stale && <p class="picture-note is-band">{stale}</p>}
    </div>
  );
}
