// Facts of the station, and what belongs to the person who is signed in.
import { useEffect, useState } from "preact/hooks";
import { call } from "../api";
import { loadStation, me, station, tick } from "../store";
import { clockText, dayText, lengthText, parseTime } from "../time";
import { useTitle } from "../ui/hooks";
import { Field, Panel, ProblemNote, Said, useWork } from "../ui/parts";
import { bytesText, countText } from "../words";
import { MIN_PASSWORD } from "./people";

const REFRESH_MS = 10_000;

export function StationPage() {
  useTitle("station");
  const reading = useWork();
  useEffect(() => {
    const read = () => void reading.run(loadStation);
    read();
    const timer = window.setInterval(() => {
      if (document.visibilityState === "visible") read();
    }, REFRESH_MS);
    return () => window.clearInterval(timer);
  }, []);
  return (
    <div class="station">
      <h1>Station</h1>
      {reading.problem && <ProblemNote problem={reading.problem} />}
      <div class="panels">
        <Facts />
        <OwnPassword />
      </div>
    </div>
  );
}

function Facts() {
  const facts = station.value;
  if (!facts) return null;
  const started = parseTime(facts.started_at);
  const oldest = parseTime(facts.archive.oldest);
  const { bytes, free_bytes: free, keep_free_bytes: keepFree } = facts.archive;
  const low = free < keepFree;
  return (
    <Panel title="Facts">
      <dl class="counts figures">
        <div>
          <dt>version</dt>
          <dd>{facts.version}</dd>
        </div>
        {started !== null && (
          <div>
            <dt>running for</dt>
            <dd>{lengthText(tick.value - started)}</dd>
          </div>
        )}
        <div>
          <dt>recordings</dt>
          <dd>{bytesText(bytes)}</dd>
        </div>
        {oldest !== null && (
          <div>
            <dt>oldest recording</dt>
            <dd>
              {dayText(oldest)} {clockText(oldest)}
            </dd>
          </div>
        )}
        <div class={low ? "is-look" : ""}>
          <dt>free on the disk</dt>
          <dd>{bytesText(free)}</dd>
        </div>
        <div>
          <dt>kept free</dt>
          <dd>{bytesText(keepFree)}</dd>
        </div>
        <div>
          <dt>exports</dt>
          <dd>
            {bytesText(facts.exports.bytes)} of {bytesText(facts.exports.most_bytes)}
          </dd>
        </div>
        <div>
          <dt>viewers</dt>
          <dd>{countText(facts.viewers)}</dd>
        </div>
        <div>
          <dt>catalog entries written</dt>
          <dd>{countText(facts.catalog.written)}</dd>
        </div>
        <div>
          <dt>+ waiting</dt>
          <dd>{countText(facts.catalog.waiting)}</dd>
        </div>
        <div class={facts.catalog.given_up > 0 ? "is-look" : ""}>
          <dt>+ given up</dt>
          <dd>{countText(facts.catalog.given_up)}</dd>
        </div>
        <div class={facts.flushes.late > 0 ? "is-look" : ""}>
          <dt>late to the disk</dt>
          <dd>
            {countText(facts.flushes.late)} times{facts.flushes.late > 0 && `, at most ${(facts.flushes.longest_ms / 1000).toFixed(1)} s`}
          </dd>
        </div>
      </dl>
      <DiskBar bytes={bytes} free={free} keepFree={keepFree} />
      <DiskKey bytes={bytes} free={free} keepFree={keepFree} />
      {facts.catalog.given_up > 0 && (
        <p class="fault">Some of what strips and recordings tell could not be written. Look at the disk and at the station's log; “rookery archive rebuild” mends what the recordings hold.</p>
      )}
      {low && <p class="fault">Less is free than should be: the oldest recordings that nobody kept are being deleted.</p>}
    </Panel>
  );
}

// Recordings, room for more, and the part that stays free, as one ruled bar.
function DiskBar({ bytes, free, keepFree }: { bytes: number; free: number; keepFree: number }) {
  const total = Math.max(1, bytes + free);
  const used = (bytes / total) * 100;
  const reserve = Math.min(100 - used, (keepFree / total) * 100);
  return (
    <svg class="disk-bar" viewBox="0 0 100 6" preserveAspectRatio="none" role="img" aria-label={`Recordings ${bytesText(bytes)}, free ${bytesText(free)}, of which ${bytesText(keepFree)} stay free`}>
      <rect class="disk-all" x="0" y="0" width="100" height="6" />
      <rect class="disk-used" x="0" y="0" width={used} height="6" />
      <rect class="disk-reserve" x={100 - reserve} y="0" width={reserve} height="6" />
    </svg>
  );
}

const shareText = (part: number, total: number): string => {
  const percent = (part / Math.max(1, total)) * 100;
  return percent > 0 && percent < 1 ? "under 1 %" : `${Math.round(percent)} %`;
};

// What the three parts of the bar are.
function DiskKey({ bytes, free, keepFree }: { bytes: number; free: number; keepFree: number }) {
  const total = bytes + free;
  return (
    <ul class="disk-key figures" aria-hidden="true">
      <li class="is-used">recordings {shareText(bytes, total)}</li>
      <li class="is-room">room for more {shareText(Math.max(0, free - keepFree), total)}</li>
      <li class="is-reserve">stays free {shareText(Math.min(free, keepFree), total)}</li>
    </ul>
  );
}

function OwnPassword() {
  const [old, setOld] = useState("");
  const [next, setNext] = useState("");
  const work = useWork();
  const name = me.value?.name ?? "";
  const submit = (event: Event): void => {
    event.preventDefault();
    void work.run(async () => {
      const body = { password: next, old_password: old };
      await call(`/api/v1/people/${encodeURIComponent(name)}`, { method: "PATCH", body });
      setOld("");
      setNext("");
    }, "The new password holds from now on.");
  };
  return (
    <Panel title="Your password">
      <form onSubmit={submit}>
        <input class="for-ears" name="username" autocomplete="username" value={name} readOnly tabIndex={-1} aria-hidden="true" />
        <Field label="Password now">
          {(props) => <input {...props} type="password" required autocomplete="current-password" value={old} onInput={(e) => setOld(e.currentTarget.value)} />}
        </Field>
        <Field label="New password" hint={`At least ${MIN_PASSWORD} characters.`}>
          {(props) => (
            <input {...props} type="password" required minLength={MIN_PASSWORD} autocomplete="new-password" value={next} onInput={(e) => setNext(e.currentTarget.value)} />
          )}
        </Field>
        {work.problem && <ProblemNote problem={work.problem} />}
        <div class="acts">
          <button type="submit" disabled={work.busy}>
            change password
          </button>
          <Said text={work.done} />
        </div>
      </form>
    </Panel>
  );
}
