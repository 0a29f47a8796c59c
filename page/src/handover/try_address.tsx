// "What will the other program get?": asks the new addresses as a stranger would and shows what came.
import { useEffect, useRef, useState } from "preact/hooks";
import { asProblem } from "../api";
import { ProblemNote, useWork } from "../ui/parts";
import { bytesText } from "../words";
import { readStill, readStream, type StillReading, type StreamReading } from "./reading";

const STREAM_MS = 2000;

export function TryAddress({ still, stream }: { still: string; stream: string }) {
  const [came, setCame] = useState<{ still: StillReading; stream: StreamReading } | null>(null);
  const [picture, setPicture] = useState("");
  const work = useWork();
  const stop = useRef(new AbortController());
  useEffect(() => () => stop.current.abort(), []);
  useEffect(() => () => URL.revokeObjectURL(picture), [picture]);
  const ask = (): void => {
    setCame(null);
    void work.run(async () => {
      try {
        const one = await readStill(still, stop.current.signal);
        const flow = await readStream(stream, STREAM_MS, stop.current.signal);
        setPicture(one.picture ? URL.createObjectURL(one.picture) : "");
        setCame({ still: one, stream: flow });
      } catch (error) {
        if (!stop.current.signal.aborted) throw asProblem(error);
      }
    });
  };
  return (
    <div class="try-address">
      <button type="button" disabled={work.busy} onClick={ask}>
        {work.busy ? "asking …" : "try both addresses"}
      </button>
      {work.problem && <ProblemNote problem={work.problem} />}
      {came && (
        <div role="status">
          {picture && <img class="film" src={picture} alt="The still that the other program gets" />}
          <p class="figures">{stillText(came.still)}</p>
          <p class="figures">{streamText(came.stream)}</p>
        </div>
      )}
    </div>
  );
}

export function stillText(still: StillReading): string {
  if (still.status !== 200) return `Still: refused with ${still.status}.`;
  return `Still: ${still.type}, ${bytesText(still.bytes)}, in ${Math.round(still.took_ms)} ms.`;
}

export function streamText(stream: StreamReading): string {
  if (stream.status !== 200) return `Stream: refused with ${stream.status}.`;
  if (stream.pictures === 0) return `Stream: it is answered, but no picture came within ${(stream.took_ms / 1000).toFixed(1)} s.`;
  return `Stream: ${stream.pictures} pictures in ${(stream.took_ms / 1000).toFixed(1)} s, ${bytesText(stream.bytes)}.`;
}
