// Notices: receivers, rules, quiet for a while, and what became of each notice. For owners.
import { useEffect, useState } from "preact/hooks";
import { call } from "../api";
import { isOwner, tick } from "../store";
import { parseTime } from "../time";
import type { Notice, Receiver, Rule } from "../types";
import { useTitle } from "../ui/hooks";
import { momentText, Panel, ProblemNote, useWork } from "../ui/parts";
import { countText } from "../words";
import { AddReceiver, Receivers } from "./receivers";
import { AddRule, Rules, SnoozeActs } from "./rules";

interface Held {
  receivers: Receiver[];
  rules: Rule[];
  notices: Notice[];
  snoozedUntil: number | null;
  lost: number;
}

const REFRESH_MS = 5_000;

async function read(): Promise<Held> {
  const [receivers, rules, notices, snooze] = await Promise.all([
    call<{ receivers: Receiver[]; lost: number }>("/api/v1/receivers"),
    call<{ rules: Rule[] }>("/api/v1/rules"),
    call<{ notices: Notice[] }>("/api/v1/notices?limit=30"),
    call<{ until: string | null }>("/api/v1/snooze"),
  ]);
  return { receivers: receivers.receivers, rules: rules.rules, notices: notices.notices, snoozedUntil: parseTime(snooze.until), lost: receivers.lost };
}

export function NoticesPage() {
  useTitle("notices");
  const [held, setHeld] = useState<Held | null>(null);
  const reading = useWork();
  const again = (): void => void reading.run(async () => setHeld(await read()));
  useEffect(() => {
    if (!isOwner.value) return;
    again();
    const timer = window.setInterval(() => {
      // What is being typed stays: only lists change.
      if (document.visibilityState === "visible") read().then(setHeld, () => {});
    }, REFRESH_MS);
    return () => window.clearInterval(timer);
  }, []);
  if (!isOwner.value) return <p>Only owners see this page.</p>;
  const snooze = (until: string | null): void => {
    void reading.run(async () => {
      await call("/api/v1/snooze", { method: "PUT", body: { until } });
      setHeld(await read());
    });
  };
  return (
    <div class="notices">
      <div class="sheet-head">
        <h1>Notices</h1>
        <p class="hint">A still may show people. Whom you may film, and whom you may send it to, is a matter of the law where you are.</p>
      </div>
      {reading.problem && <ProblemNote problem={reading.problem} />}
      {held && (
        <>
          {held.lost > 0 && <p class="fault">{countText(held.lost)} notices were lost since the station started: its disk was full or too slow for too long.</p>}
          <SnoozeActs until={held.snoozedUntil} onSet={snooze} />
          <div class="panels">
            <Receivers list={held.receivers} onChange={again} />
            <Rules list={held.rules} receivers={held.receivers} onChange={again} />
            <NoticeLog notices={held.notices} receivers={held.receivers} />
            <AddReceiver onAdded={again} />
            <AddRule receivers={held.receivers} onAdded={again} />
          </div>
        </>
      )}
    </div>
  );
}

const STATE_WORDS: Record<Notice["state"], string> = { waiting: "waiting", delivered: "delivered", "given-up": "given up", dropped: "dropped" };

function NoticeLog({ notices, receivers }: { notices: Notice[]; receivers: Receiver[] }) {
  const now = tick.value;
  const nameOf = (id: number): string => receivers.find((one) => one.id === id)?.name ?? "?";
  return (
    <Panel title="The last ones">
      {notices.length === 0 && <p class="hint">No notices yet.</p>}
      <ul class="person-list notice-log">
        {notices.map((notice) => (
          <li key={notice.id} data-notice={notice.id}>
            <p>
              <span class="figures">{momentText(parseTime(notice.made_at) ?? 0, now)}</span> {notice.what === "test" ? "test" : `${notice.camera ?? ""} ${notice.what === "pause" ? "asked to pause" : notice.what}`} → {nameOf(notice.receiver)}
            </p>
            <p class={notice.state === "delivered" ? "hint" : "fault"}>
              {STATE_WORDS[notice.state]}
              {notice.tries > 1 && ` after ${notice.tries} tries`}
              {notice.answer !== "" && `: ${notice.answer}`}
            </p>
          </li>
        ))}
      </ul>
    </Panel>
  );
}
