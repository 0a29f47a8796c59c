// A camera's last events, on its own page.
import type { Signal } from "@preact/signals";
import type { TimeSpan } from "../strip/data";
import type { Camera, EventInfo } from "../types";
import { Panel, ProblemNote } from "../ui/parts";
import { EventList } from "./events_page";
import { useEvents } from "./feed";
import { ALL_EVENTS, spanOfEvent } from "./query";

const SHOWN = 5;

export function EventPanel({ camera, selection }: { camera: Camera; selection: Signal<TimeSpan | null> }) {
  const feed = useEvents({ ...ALL_EVENTS, camera: camera.name }, SHOWN);
  const mark = (event: EventInfo): void => {
    selection.value = spanOfEvent(event, camera) ?? selection.value;
    document.getElementById("span")?.scrollIntoView({ block: "nearest" });
  };
  return (
    <Panel title="Events" id="events">
      {feed.problem && <ProblemNote problem={feed.problem} />}
      <EventList feed={feed} withCamera={false} none={<p class="hint">None yet: nothing has moved for long enough.</p>} onSpan={mark} />
    </Panel>
  );
}
