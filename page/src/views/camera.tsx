// One camera: the picture, live or played back, its strip as a scrubber, and everything that belongs to it.
import { useSignal } from "@preact/signals";
import { useEffect, useState } from "preact/hooks";
import { asProblem, call, cameraPath, type Problem } from "../api";
import { DropoutPanel } from "../dropouts/dropout_panel";
import { EventPanel } from "../events/event_panel";
import { CameraJobs } from "../jobs/camera_jobs";
import { MaskPanel } from "../mask/mask_panel";
import { PlayerPanel } from "../player/panel";
import { focusLink } from "../route";
import { cameras, isOwner, statusOf, takeCamera } from "../store";
import type { TimeSpan } from "../strip/data";
import type { Camera } from "../types";
import { useTitle } from "../ui/hooks";
import { ProblemNote, StateWord } from "../ui/parts";
import { VitalsSection } from "../vitals/vitals_section";
import { stateWords } from "../words";
import { Counts } from "./counts";
import { SettingsPanel } from "./settings_form";
import { SpanPanel } from "./span_panel";
import { Tokens } from "./tokens";

export function CameraPage({ name, at }: { name: string; at: number | null }) {
  const known = cameras.value?.find((camera) => camera.name === name) ?? null;
  const [problem, setProblem] = useState<Problem | null>(null);
  useTitle(known?.title || name);
  useEffect(() => {
    call<Camera>(cameraPath(name)).then(takeCamera, (error: unknown) => setProblem(asProblem(error)));
  }, [name]);
  if (known) return <KnownCamera camera={known} at={at} />;
  return (
    <div>
      <h1>{name}</h1>
      {problem ? <ProblemNote problem={problem} /> : <p role="status">Asking for this camera …</p>}
    </div>
  );
}

function KnownCamera({ camera, at }: { camera: Camera; at: number | null }) {
  const selection = useSignal<TimeSpan | null>(null);
  const keptRound = useSignal(0); // counts up when spans were kept or let go: the strip is read again
  const status = statusOf(camera.name).value;
  const title = camera.title || camera.name;
  return (
    <div class="camera" data-camera={camera.name}>
      <div class="sheet-head">
        <h1>{title}</h1>
        {camera.title && <p class="row-name">{camera.name}</p>}
        <p class="camera-state">
          <StateWord status={status} /> {status && <span class="camera-says">{stateWords(status.state).says}</span>}
        </p>
        <a class="camera-focus" href={focusLink(camera.name)}>
          focus the lens
        </a>
      </div>
      <PlayerPanel camera={camera} at={at} selection={selection} keptRound={keptRound} />
      <VitalsSection name={camera.name} />
      <div class="panels">
        <EventPanel camera={camera} selection={selection} />
        <CameraJobs camera={camera} />
        <DropoutPanel name={camera.name} />
        <SpanPanel camera={camera} selection={selection} keptRound={keptRound} />
        <Counts name={camera.name} />
        {isOwner.value && <MaskPanel camera={camera} />}
        {isOwner.value && <SettingsPanel camera={camera} />}
        {isOwner.value && <Tokens camera={camera} />}
      </div>
    </div>
  );
}
