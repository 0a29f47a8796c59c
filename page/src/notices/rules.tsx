// Which events make notices: the rules, and quiet for a while.
import { useState } from "preact/hooks";
import { call } from "../api";
import { cameras, cameraTitle, stationNow, tick } from "../store";
import { parseTime, toRfc3339 } from "../time";
import type { Cause, Judged, Receiver, Rule } from "../types";
import { Choice, Field, momentText, Panel, ProblemNote, Removal, Said, Several, useWork } from "../ui/parts";
import { causeText, shareText, silentText } from "../words";
import { DAYS, EMPTY_RULE, formOfRule, hoursText, ruleBody, ruleFaults, snoozeChoices, type RuleFaults, type RuleForm } from "./form";

export function Rules({ list, receivers, onChange }: { list: Rule[]; receivers: Receiver[]; onChange: () => void }) {
  return (
    <Panel title="Rules" note="Which events reach whom.">
      {list.length === 0 && <p>None yet: no event makes a notice. Make a rule below.</p>}
      <ul class="person-list">
        {list.map((rule) => (
          <RuleLine key={rule.id} rule={rule} receivers={receivers} onChange={onChange} />
        ))}
      </ul>
    </Panel>
  );
}

function RuleLine({ rule, receivers, onChange }: { rule: Rule; receivers: Receiver[]; onChange: () => void }) {
  const work = useWork();
  const path = `/api/v1/rules/${rule.id}`;
  const patch = (body: unknown): void => {
    void work.run(async () => {
      await call(path, { method: "PATCH", body });
      onChange();
    });
  };
  const to = receivers.filter((one) => rule.receivers.includes(one.id)).map((one) => one.name);
  const snoozed = parseTime(rule.snoozed_until);
  return (
    <li data-rule={rule.id}>
      <p class="person-name">
        {rule.name} {!rule.enabled && <span class="hint">switched off</span>}
      </p>
      <p>
        {rule.cameras === null ? "all cameras" : rule.cameras.join(", ") || "no camera"} → {to.length === 0 ? <span class="fault">nobody</span> : to.join(", ")}
      </p>
      <p class="hint">
        {rule.causes.map(causeText).join(", ")}
        {rule.least_peak > 0 && `, at least ${shareText(rule.least_peak)} of the picture`} · {hoursText(rule)} · {rule.quiet_s / 60} min quiet
        {rule.at_end && " · also when it is over"}
      </p>
      <LastWords rule={rule} />
      <SnoozeActs until={snoozed} onSet={(until) => patch({ snoozed_until: until })} />
      <div class="acts">
        <button type="button" class="quiet" disabled={work.busy} onClick={() => patch({ enabled: !rule.enabled })}>
          {rule.enabled ? "switch off" : "switch on"}
        </button>
        <Removal
          label="remove …"
          ask={`Remove ${rule.name}?`}
          yes={`remove ${rule.name}`}
          onRemove={async () => {
            await call(path, { method: "DELETE" });
            onChange();
          }}
        />
      </div>
      <details>
        <summary>change …</summary>
        <RuleFields
          start={formOfRule(rule)}
          receivers={receivers}
          act="save this rule"
          said="The rule is saved."
          onSubmit={async (body) => {
            await call(path, { method: "PATCH", body });
            onChange();
          }}
        />
      </details>
      {work.problem && <ProblemNote problem={work.problem} />}
    </li>
  );
}

// Why there was a notice, and why there was none.
function LastWords({ rule }: { rule: Rule }) {
  const now = tick.value;
  const place = (judged: Judged): string => {
    const title = cameraTitle(judged.camera);
    const at = parseTime(judged.at);
    return at === null ? title : `${title}, ${momentText(at, now)}`;
  };
  if (!rule.last_sent && !rule.last_silent) return <p class="hint">No event to judge since the station started.</p>;
  return (
    <p class="hint">
      {rule.last_sent && <>Last notice: {place(rule.last_sent)}. </>}
      {rule.last_silent && (
        <>
          Last event without one: {place(rule.last_silent)}: {silentText(rule.last_silent.verdict)}.
        </>
      )}
    </p>
  );
}

// Quiet for a while, and back.
export function SnoozeActs({ until, onSet }: { until: number | null; onSet: (until: string | null) => void }) {
  const now = tick.value;
  if (until !== null && until > now) {
    return (
      <div class="acts">
        <p>No notices until {momentText(until, now)}.</p>
        <button type="button" class="quiet" onClick={() => onSet(null)}>
          notices again
        </button>
      </div>
    );
  }
  return (
    <div class="acts" role="group" aria-label="No notices">
      <span class="hint">no notices</span>
      {snoozeChoices(stationNow()).map((choice) => (
        <button key={choice.label} type="button" class="quiet" onClick={() => onSet(toRfc3339(choice.until))}>
          {choice.label}
        </button>
      ))}
    </div>
  );
}

export function AddRule({ receivers, onAdded }: { receivers: Receiver[]; onAdded: () => void }) {
  const [round, setRound] = useState(0);
  return (
    <Panel title="Add a rule">
      {receivers.length === 0 ? (
        <p class="hint">Add a receiver first.</p>
      ) : (
        <RuleFields
          key={round}
          start={{ ...EMPTY_RULE, receivers: receivers.length === 1 ? receivers.map((one) => one.id) : [] }}
          receivers={receivers}
          act="add this rule"
          onSubmit={async (body) => {
            await call("/api/v1/rules", { method: "POST", body });
            onAdded();
            setRound((n) => n + 1);
          }}
        />
      )}
      <Said text={round > 0 ? "The rule is added. It tells of events from now on." : ""} />
    </Panel>
  );
}

interface FieldsProps {
  start: RuleForm;
  receivers: Receiver[];
  act: string;
  said?: string;
  onSubmit: (body: Record<string, unknown>) => Promise<void>;
}

function RuleFields({ start, receivers, act, said, onSubmit }: FieldsProps) {
  const [form, setForm] = useState(start);
  const [faults, setFaults] = useState<RuleFaults>({});
  const work = useWork();
  const set = (change: Partial<RuleForm>): void => setForm((old) => ({ ...old, ...change }));
  const submit = (event: Event): void => {
    event.preventDefault();
    const found = ruleFaults(form);
    setFaults(found);
    if (Object.keys(found).length === 0) void work.run(() => onSubmit(ruleBody(form)), said);
  };
  return (
    <form onSubmit={submit} noValidate>
      <Field label="Name" fault={faults.name}>
        {(props) => <input {...props} value={form.name} onInput={(e) => set({ name: e.currentTarget.value })} maxLength={64} />}
      </Field>
      <Several legend="Who gets them" options={receivers.map((one) => ({ value: one.id, label: one.name }))} value={form.receivers} fault={faults.receivers} onChange={(ids) => set({ receivers: ids })} />
      <Choice
        legend="Cameras"
        name={`rule-cameras-${act}-${start.name}`}
        value={form.cameras === null ? "all" : "some"}
        options={[
          { value: "all", label: "all cameras" },
          { value: "some", label: "chosen cameras" },
        ]}
        onChange={(which) => set({ cameras: which === "all" ? null : [] })}
      />
      {form.cameras !== null && (
        <Several legend="Chosen cameras" options={(cameras.value ?? []).map((one) => ({ value: one.name, label: one.title || one.name }))} value={form.cameras} onChange={(names) => set({ cameras: names })} />
      )}
      <Several legend="Causes" options={(["motion", "view", "lighting", "job"] as Cause[]).map((cause) => ({ value: cause, label: causeText(cause) }))} value={form.causes} fault={faults.causes} onChange={(causes) => set({ causes })} />
      <Several legend="Days" options={DAYS.map((day) => ({ value: day, label: day }))} value={form.days} fault={faults.days} onChange={(days) => set({ days })} />
      <div class="pair">
        <Field label="From" hint="Local time of the station." fault={faults.from}>
          {(props) => <input {...props} value={form.from} onInput={(e) => set({ from: e.currentTarget.value.trim() })} />}
        </Field>
        <Field label="Until" hint="May be on the next day." fault={faults.until}>
          {(props) => <input {...props} value={form.until} onInput={(e) => set({ until: e.currentTarget.value.trim() })} />}
        </Field>
      </div>
      <div class="pair">
        <Field label="At least, % of the picture" hint="Empty: any." fault={faults.leastPercent}>
          {(props) => <input {...props} inputMode="decimal" value={form.leastPercent} onInput={(e) => set({ leastPercent: e.currentTarget.value })} />}
        </Field>
        <Field label="Quiet between two, min" hint="Of one camera." fault={faults.quietMinutes}>
          {(props) => <input {...props} inputMode="decimal" value={form.quietMinutes} onInput={(e) => set({ quietMinutes: e.currentTarget.value })} />}
        </Field>
      </div>
      <label class="check">
        <input type="checkbox" checked={form.at_end} onChange={(e) => set({ at_end: e.currentTarget.checked })} />
        <span>another notice when it is over</span>
      </label>
      {work.problem && <ProblemNote problem={work.problem} />}
      <button type="submit" class="main-act" disabled={work.busy}>
        {act}
      </button>
      <Said text={work.done} />
    </form>
  );
}
