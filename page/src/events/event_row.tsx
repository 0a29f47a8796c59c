// One event of the log: when, what, how much, where, its still.
import { useState } from "preact/hooks";
import { call } from "../api";
import { cameraLink, jobLink } from "../route";
import { cameraTitle, isOwner } from "../store";
import { clockText, dayText, lengthText, parseTime } from "../time";
import type { EventInfo } from "../types";
import { ProblemNote, useWork } from "../ui/parts";
import { signText } from "../jobs/words";
import { causeText, shareText } from "../words";

interface Props {
  event: EventInfo;
  withCamera: boolean;
  onChange: (event: EventInfo) => void;
  onSpan?: ((event: EventInfo) => void) | undefined; // marks its span, to be exported
}

export function EventRow({ event, withCamera, onChange, onSpan }: Props) {
  const work = useWork();
  const start = parseTime(event.start) ?? 0;
  const end = parseTime(event.end);
  const title = cameraTitle(event.camera);
  const keep = (kept: boolean): void => {
    void work.run(async () => onChange(await call<EventInfo>(`/api/v1/events/${event.id}`, { method: "PATCH", body: { kept } })));
  };
  return (
    <li class={`event is-${event.cause}`} data-event={event.id}>
      <Still event={event} title={title} />
      <div class="event-words">
        <p>
          <a class="event-when figures" href={cameraLink(event.camera, start)}>
            {clockText(start)}
          </a>{" "}
          <span class="event-day">{dayText(start)}</span>
        </p>
        {withCamera && <p class="event-camera">{title}</p>}
        <p>
          <CauseMark cause={event.cause} /> {causeText(event.cause)}
          {event.cause === "motion" && `, ${event.where}`}
          {event.cause === "job" && (
            <>
              : <a href={event.job === null ? "#/jobs" : jobLink(event.job)}>{signText(event.detail)}</a>
            </>
          )}
        </p>
        <p class="event-more">
          {end === null ? "goes on" : event.cause === "motion" || end > start ? lengthText(end - start) : "a moment"}
          {event.cause === "motion" && ` · up to ${shareText(event.peak)} of the picture`}
          {event.kept && " · kept"}
        </p>
        {work.problem && <ProblemNote problem={work.problem} />}
      </div>
      <div class="event-acts">
        {isOwner.value && (
          <button type="button" class="quiet" disabled={work.busy} onClick={() => keep(!event.kept)}>
            {event.kept ? "let it go" : "keep"}
            <span class="for-ears"> the event of {clockText(start)}, {title}</span>
          </button>
        )}
        {onSpan && event.still && end !== null && (
          <button type="button" class="quiet" onClick={() => onSpan(event)}>
            mark span
            <span class="for-ears"> of the event of {clockText(start)}</span>
          </button>
        )}
      </div>
    </li>
  );
}

// Told apart by shape, so that colour is only a help: a full bar, a hollow one, a crossed one. As on the strip.
export function CauseMark({ cause }: { cause: EventInfo["cause"] }) {
  return (
    <svg class="cause-mark" viewBox="0 0 14 8" width="14" height="8" aria-hidden="true">
      <rect x="0.75" y="0.75" width="12.5" height="6.5" fill={cause === "motion" ? "currentColor" : "none"} stroke="currentColor" stroke-width="1.5" />
      {(cause === "view" || cause === "job") && <path d="M1 7 13 1M1 1l12 6" stroke="currentColor" stroke-width="1.2" />}
    </svg>
  );
}

// The still with what moved framed; asked for when it comes near the screen.
function Still({ event, title }: { event: EventInfo; title: string }) {
  const [lost, setLost] = useState(false);
  const { x, y, w, h } = event.region;
  const part = (share: number): string => `${(share * 100).toFixed(1)}%`;
  if (!event.still || lost) {
    return (
      <div class="event-still is-none">
        <span>{event.still || event.end === null ? "no still yet" : "not recorded"}</span>
      </div>
    );
  }
  return (
    <a class="event-still" href={cameraLink(event.camera, parseTime(event.best_at) ?? 0)} tabIndex={-1} aria-hidden="true">
      <img src={`/api/v1/events/${event.id}/still.jpg?width=320`} alt={`Still of ${title}`} loading="lazy" onError={() => setLost(true)} />
      {(event.cause === "motion" || (event.cause === "job" && w > 0)) && <span class="event-region" style={{ left: part(x), top: part(y), width: part(w), height: part(h) }} />}
    </a>
  );
}
