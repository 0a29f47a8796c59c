// The log of events of all cameras, with filters.
import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { cameras } from "../store";
import type { Cause, EventInfo } from "../types";
import { useTitle } from "../ui/hooks";
import { Field, ProblemNote } from "../ui/parts";
import { causeText } from "../words";
import { EventRow } from "./event_row";
import { useEvents, type EventFeed } from "./feed";
import { ALL_EVENTS, type Filter } from "./query";

export function EventsPage() {
  useTitle("events");
  const [filter, setFilter] = useState<Filter>(ALL_EVENTS);
  const feed = useEvents(filter);
  return (
    <div class="events">
      <div class="sheet-head">
        <h1>Events</h1>
        <p class="hint">What happened in front of the cameras, the newest first.</p>
      </div>
      <Filters filter={filter} onChange={(change) => setFilter((old) => ({ ...old, ...change }))} />
      {feed.problem && <ProblemNote problem={feed.problem} />}
      <EventList feed={feed} withCamera={filter.camera === ""} none={<NoEvents filtered={filter !== ALL_EVENTS} />} />
    </div>
  );
}

function Filters({ filter, onChange }: { filter: Filter; onChange: (change: Partial<Filter>) => void }) {
  return (
    <form class="event-filters" onSubmit={(event) => event.preventDefault()} aria-label="Which events">
      <Field label="Camera">
        {(props) => (
          <select {...props} value={filter.camera} onChange={(e) => onChange({ camera: e.currentTarget.value })}>
            <option value="">all</option>
            {(cameras.value ?? []).map((camera) => (
              <option key={camera.name} value={camera.name}>
                {camera.title || camera.name}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label="Cause">
        {(props) => (
          <select {...props} value={filter.cause} onChange={(e) => onChange({ cause: e.currentTarget.value as Cause | "" })}>
            <option value="">any</option>
            {(["motion", "lighting", "view", "job"] as const).map((cause) => (
              <option key={cause} value={cause}>
                {causeText(cause)}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Field label="Day">
        {(props) => <input {...props} type="date" value={filter.day} onChange={(e) => onChange({ day: e.currentTarget.value })} />}
      </Field>
      <Field label="At least, % of the picture">
        {(props) => (
          <input {...props} inputMode="decimal" size={6} value={filter.leastPercent} onInput={(e) => onChange({ leastPercent: e.currentTarget.value })} />
        )}
      </Field>
      <label class="check">
        <input type="checkbox" checked={filter.kept} onChange={(e) => onChange({ kept: e.currentTarget.checked })} />
        <span>kept ones only</span>
      </label>
    </form>
  );
}

interface ListProps {
  feed: EventFeed;
  withCamera: boolean;
  none: ComponentChildren; // shown when there are no events
  onSpan?: (event: EventInfo) => void;
}

export function EventList({ feed, withCamera, none, onSpan }: ListProps) {
  if (feed.events === null) return feed.problem ? null : <p role="status">Asking for events …</p>;
  return (
    <>
      {feed.events.length === 0 && !feed.hasEarlier && none}
      <ul class="event-list">
        {feed.events.map((event) => (
          <EventRow key={event.id} event={event} withCamera={withCamera} onChange={feed.put} onSpan={onSpan} />
        ))}
      </ul>
      {feed.hasEarlier && (
        <button type="button" disabled={feed.busy} onClick={feed.earlier}>
          {feed.busy ? "asking …" : "earlier events"}
        </button>
      )}
    </>
  );
}

function NoEvents({ filtered }: { filtered: boolean }) {
  if (filtered) return <p>No events like this. Ask for more: another day, any cause, a smaller share of the picture.</p>;
  return <p>No events yet. One is made when something moves for about a second; how small a thing counts is set for each camera.</p>;
}
