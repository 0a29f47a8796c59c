// A camera's vitals over hours and weeks: small charts above each other's time, each said in a line of numbers too.
import { signal, useSignal, type Signal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import { asProblem, call, cameraPath, type Problem } from "../api";
import { stationNow } from "../store";
import { clockText, DAY, dayText, HOUR, MINUTE, minuteText, toRfc3339 } from "../time";
import type { VitalsAnswer } from "../types";
import { scheme, useOnScreen, useWidth } from "../ui/hooks";
import { Choice, ProblemNote } from "../ui/parts";
import { DRAWN, liveText, readSeries, sayIn, stepText, type Drawn, type Series } from "./series";


type Length = "hour" | "6 h" | "day" | "week" | "4 weeks" | "year";
const LENGTHS: Record<Length, number> = { hour: HOUR, "6 h": 6 * HOUR, day: DAY, week: 7 * DAY, "4 weeks": 28 * DAY, year: 365 * DAY };
const CHOICES = (Object.keys(LENGTHS) as Length[]).map((value) => ({ value, label: value }));
const chosen = signal<Length | null>(null); // held while the page is open; null: the shortest that says something

export function VitalsSection({ name }: { name: string }) {
  const series = useSignal<Series | null>(null);
  const problem = useSignal<Problem | null>(null);
  const [frame, shown] = useOnScreen<HTMLElement>();
  const length = chosen.value ?? "6 h";
  useEffect(() => {
    if (!shown) return;
    const stop = new AbortController();
    const load = async (): Promise<void> => {
      const to = stationNow();
      const query = `from=${toRfc3339(to - LENGTHS[length])}&to=${toRfc3339(to)}`;
      try {
        series.value = readSeries(await call<VitalsAnswer>(`${cameraPath(name)}/vitals?${query}`, { signal: stop.signal }));
        problem.value = null;
        // A station of an hour or less would be a dot at the edge of six.
        if (chosen.value === null && series.value.of.frames_per_s.filter((one) => one !== null).length < HOUR / MINUTE) chosen.value = "hour";
      } catch (error) {
        if (!stop.signal.aborted) problem.value = asProblem(error);
      }
    };
    void load();
    const again = setInterval(() => void load(), MINUTE);
    return () => {
      stop.abort();
      clearInterval(again);
    };
  }, [name, length, shown]);
  return (
    <section class="vitals" ref={frame} aria-label="Vitals">
      <div class="vitals-head">
        <h2>Vitals</h2>
        <Choice name="vitals-length" legend="of the last" value={length} options={CHOICES} onChange={(value) => (chosen.value = value)} />
        {series.value && <p class="hint figures">{liveText(series.value)} Each point is {stepText(series.value.step)}.</p>}
      </div>
      {problem.value && <ProblemNote problem={problem.value} />}
      {series.value ? <Charts series={series.value} /> : !problem.value && <p class="hint">The measurements of this camera are on their way …</p>}
    </section>
  );
}

function Charts({ series }: { series: Series }) {
  const at = useSignal<number | null>(null); // which step the mouse is over, in any chart
  return (
    <div class="vitals-charts">
      {DRAWN.map((drawn) => (
        <Chart key={drawn.column} drawn={drawn} series={series} at={at} />
      ))}
    </div>
  );
}

function timeText(s: number, step: number): string {
  if (step < 3600) return `${dayText(s * 1000)}, ${minuteText(s * 1000)}`;
  return step < 86_400 ? `${dayText(s * 1000)}, from ${minuteText(s * 1000)}` : dayText(s * 1000);
}

function Chart({ drawn, series, at }: { drawn: Drawn; series: Series; at: Signal<number | null> }) {
  const frame = useRef<HTMLDivElement | null>(null);
  const width = useWidth(frame);
  useEffect(() => {
    if (!frame.current || width === 0) return;
    const data: uPlot.AlignedData = [series.times, series.of[drawn.column]];
    const plot = new uPlot(options(width, frame.current, drawn, series, (i) => (at.value = i)), data, frame.current);
    return () => plot.destroy();
  }, [width, scheme.value, series]);
  const step = at.value;
  const value = step === null ? null : series.of[drawn.column][step];
  const time = step === null ? undefined : series.times[step];
  const said =
    time === undefined ? sayIn(series, drawn) : `${timeText(time, series.step)}: ${value === null || value === undefined ? "not measured" : drawn.text(value)}`;
  return (
    <figure class="vitals-chart">
      <figcaption>
        <b>{drawn.title}</b> <span class="figures">{said}</span>
      </figcaption>
      <div ref={frame} class="vitals-plot" aria-hidden="true" />
    </figure>
  );
}

const SYNC = "vitals";

function options(width: number, element: Element, drawn: Drawn, series: Series, onCursor: (index: number | null) => void): uPlot.Options {
  const style = getComputedStyle(element);
  const colour = (name: string): string => style.getPropertyValue(name).trim();
  const font = `12px ${style.fontFamily}`;
  const axis = { stroke: colour("--muted"), font, grid: { stroke: colour("--rule"), width: 1 }, ticks: { show: false } };
  const ticks = (_u: uPlot, splits: number[]): string[] => {
    const days = (splits.at(-1) ?? 0) - (splits[0] ?? 0) > 86_400;
    return splits.map((s) => (days ? dayText(s * 1000).replace(/ \d{4}$/, "") : clockText(s * 1000).slice(0, 5)));
  };
  return {
    width,
    height: 132,
    legend: { show: false },
    cursor: { y: false, points: { show: false }, sync: { key: SYNC }, drag: { x: false, y: false } },
    scales: { x: { range: () => [series.times[0] ?? 0, (series.times.at(-1) ?? 0) + series.step] }, y: { range: (_u, _min, max) => [0, Math.max(drawn.sums ? 1 : 1e-3, (max ?? 0) * 1.1)] } },
    axes: [
      { ...axis, values: ticks, space: 80, size: 28 },
      { ...axis, size: 60, space: 28, values: (_u, splits) => splits.map(drawn.tick) },
    ],
    series: [{}, { stroke: colour("--trace"), width: 1.3, points: { show: false }, ...(drawn.sums ? { paths: uPlot.paths.bars?.({ size: [1, 12] }), fill: colour("--trace") } : {}) }],
    hooks: { setCursor: [(u) => onCursor(u.cursor.left !== undefined && u.cursor.left >= 0 ? (u.cursor.idx ?? null) : null)] },
  };
}
