// What came from the board and what became of it; every count adds up.
import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import { statusOf, tick } from "../store";
import { clockText, lengthText, parseTime } from "../time";
import type { Status } from "../types";
import { scheme, useWidth } from "../ui/hooks";
import { Glyph } from "../ui/glyphs";
import { Panel, retryText } from "../ui/parts";
import { brokenText, bytesText, countText, framesText, rateText } from "../words";

export function Counts({ name }: { name: string }) {
  const status = statusOf(name).value;
  if (!status) return <Panel title="Counts"><p>No word from the station yet.</p></Panel>;
  const since = parseTime(status.since);
  const { counters, recorder } = status;
  const rejected = Object.entries(counters.rejected).filter(([, n]) => n > 0);
  const total = rejected.reduce((sum, [, n]) => sum + n, 0);
  return (
    <Panel title="Counts" note="Since the station started.">
      <LastError status={status} />
      <RateChart status={status} />
      <dl class="counts figures">
        <Line name="now" value={`${framesText(status.frames_per_s)}, ${rateText(status.bytes_per_s)}`} />
        {status.width_px > 0 && <Line name="picture" value={`${status.width_px} × ${status.height_px} px`} />}
        {since !== null && <Line name={`${status.state} for`} value={lengthText(tick.value - since)} />}
        <Line name="viewers" value={countText(status.viewers)} />
        <Line name="skipped by slow viewers" value={`${countText(status.viewers_skipped)} pictures`} />
        <Line name="received" value={`${countText(counters.received)} pictures`} strong />
        <Line name="= published" value={`${countText(counters.published)} pictures, ${bytesText(counters.bytes)}`} />
        <Line name="+ rejected" value={`${countText(total)} pictures`} />
        {rejected.map(([kind, n]) => (
          <Line key={kind} name={brokenText(kind)} value={countText(n)} inner />
        ))}
        <Line name="parts given up" value={countText(counters.rejected_parts)} />
        <Line name="connections" value={`${countText(counters.connects)}, lost ${countText(counters.lost)} times`} />
        <Line name="dropouts" value={countText(counters.dropouts)} />
        <Line name="taken to record" value={`${countText(recorder.taken)} pictures`} strong />
        <Line name="= written" value={`${countText(recorder.written)} pictures, ${bytesText(recorder.bytes_written)}`} />
        <Line name="+ in the queue" value={`${countText(recorder.queued)} pictures`} />
        <Line name="+ lost" value={`${countText(recorder.lost)} pictures`} look={recorder.lost > 0} />
        {status.pre_roll.most_bytes > 0 && status.pre_roll.frames > 0 && (
          <Line name="in memory, before events" value={`${status.pre_roll.seconds.toFixed(0)} s, ${bytesText(status.pre_roll.bytes)} of ${bytesText(status.pre_roll.most_bytes)}`} strong />
        )}
        <Line name="events ended" value={countText(status.events_ended)} />
      </dl>
    </Panel>
  );
}

function Line(props: { name: string; value: string; strong?: boolean; inner?: boolean; look?: boolean }) {
  const kind = `${props.strong ? "is-strong" : ""} ${props.inner ? "is-inner" : ""} ${props.look ? "is-look" : ""}`;
  return (
    <div class={kind}>
      <dt>
        {props.look && <Glyph sign="look" />} {props.name}
      </dt>
      <dd>{props.value}</dd>
    </div>
  );
}

function LastError({ status }: { status: Status }) {
  const error = status.last_error;
  if (!error) return null;
  const current = status.state === "waiting" || status.state === "silent";
  const retry = retryText(status);
  return (
    <div class={`last-error ${current ? "is-look" : ""}`}>
      <p>
        <Glyph sign="look" /> <b>{current ? "What is wrong" : "The last thing that went wrong"}</b>
      </p>
      <p>{error.text}</p>
      {retry && <p class="figures">{retry}</p>}
    </div>
  );
}

// Frames and bytes a second since this page was opened, five minutes at most.
const CHART_S = 300;

function useHistory(status: Status): { history: [number[], number[], number[]] } {
  const ref = useRef<[number[], number[], number[]]>([[], [], []]);
  const now = Math.floor(tick.value / 1000);
  useEffect(() => {
    const [times, frames, bytes] = ref.current;
    if (times.at(-1) === now) return;
    times.push(now);
    frames.push(status.frames_per_s);
    bytes.push(status.bytes_per_s / 1000);
    while ((times[0] ?? now) < now - CHART_S) for (const column of ref.current) column.shift();
  }, [now, status]);
  return { history: ref.current };
}

function chartOptions(width: number, element: Element): uPlot.Options {
  const style = getComputedStyle(element);
  const colour = (name: string): string => style.getPropertyValue(name).trim();
  const font = `12px ${style.fontFamily}`;
  const axis = { stroke: colour("--muted"), font, grid: { stroke: colour("--rule"), width: 1 }, ticks: { show: false } };
  return {
    width,
    height: 120,
    legend: { show: false },
    cursor: { show: false },
    scales: { x: { time: false }, frames: { range: (_u, _min, max) => [0, Math.max(1, max * 1.15)] }, bytes: { range: (_u, _min, max) => [0, Math.max(1, max * 1.15)] } },
    axes: [
      { ...axis, values: (_u, ticks) => ticks.map((t) => clockText(t * 1000)), space: 90 },
      { ...axis, scale: "frames", size: 40, values: (_u, ticks) => ticks.map((v) => String(v)), space: 30 },
      { ...axis, scale: "bytes", side: 1, size: 50, grid: { show: false }, values: (_u, ticks) => ticks.map((v) => String(v)), space: 30 },
    ],
    series: [
      {},
      { scale: "frames", stroke: colour("--trace"), width: 1.4, points: { show: false } },
      { scale: "bytes", stroke: colour("--muted"), width: 1.2, dash: [4, 3], points: { show: false } },
    ],
  };
}

function RateChart({ status }: { status: Status }) {
  const frame = useRef<HTMLDivElement | null>(null);
  const chart = useRef<uPlot | null>(null);
  const width = useWidth(frame);
  const { history } = useHistory(status);
  useEffect(() => {
    if (!frame.current || width === 0) return;
    chart.current = new uPlot(chartOptions(width, frame.current), history, frame.current);
    return () => chart.current?.destroy();
  }, [width, scheme.value]);
  useEffect(() => {
    chart.current?.setData(history);
  }, [tick.value]);
  return (
    <figure class="rate">
      <div ref={frame} class="rate-chart" aria-hidden="true" />
      <figcaption>
        <span class="line-solid" /> frames/s (left) <span class="line-dashed" /> kB/s (right), since this page was opened
      </figcaption>
    </figure>
  );
}
