// A span of the recording: its two ends, taking it along as a file, keeping it.
import type { Signal } from "@preact/signals";
import { useState } from "preact/hooks";
import { call, cameraPath } from "../api";
import { isOwner, stationNow } from "../store";
import type { TimeSpan } from "../strip/data";
import { DAY, dateTimeField, lengthText, readDateField, toRfc3339 } from "../time";
import type { Camera } from "../types";
import { Field, Panel, ProblemNote, Said, useWork } from "../ui/parts";
import { countText } from "../words";
import { ExportForm } from "./export_form";

interface Props {
  camera: Camera;
  selection: Signal<TimeSpan | null>;
  keptRound: Signal<number>;
}

// What is wrong with a span, in words; null when something can be made of it.
export function spanFault(span: TimeSpan | null, now: number): string | null {
  if (!span) return "Mark a start and an end first: with the buttons above, the keys [ and ], or by dragging over the strip with Shift held.";
  if (span.to <= span.from) return "The end must come after the start.";
  if (span.to - span.from > 62 * DAY) return "A span can be 62 days long at most.";
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
