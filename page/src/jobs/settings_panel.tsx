// How a camera's jobs go, for owners: how they begin and end, what is told, what is kept, who is asked to pause.
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { call, cameraPath } from "../api";
import type { Camera, Receiver } from "../types";
import { Field, ProblemNote, Said, Several, useWork } from "../ui/parts";
import { BedField } from "./bed_field";
import { HoursField } from "./hours_field";
import { PauseFields } from "./pause_fields";
import { changesOf, formOfSettings, settingsBody, settingsFaults, SIGNS, type SettingsFaults, type SettingsForm } from "./settings_form";
import type { JobSettings } from "./types";
import { signText } from "./words";

export function JobSettingsFold({ camera }: { camera: Camera }) {
  const [open, setOpen] = useState(false);
  return (
    <details class="job-settings" onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>how jobs go here …</summary>
      {open && <Loading camera={camera} />}
    </details>
  );
}

function Loading({ camera }: { camera: Camera }) {
  const [settings, setSettings] = useState<JobSettings | null>(null);
  const [receivers, setReceivers] = useState<Receiver[]>([]);
  const work = useWork();
  useEffect(() => {
    void work.run(async () => {
      const [found, others] = await Promise.all([
        call<JobSettings>(`${cameraPath(camera.name)}/job-settings`),
        call<{ receivers: Receiver[] }>("/api/v1/receivers"),
      ]);
      setReceivers(others.receivers);
      setSettings(found);
    });
  }, [camera.name]);
  if (work.problem) return <ProblemNote problem={work.problem} />;
  if (!settings) return <p role="status">Asking for the settings …</p>;
  return <Fields camera={camera} start={settings} receivers={receivers} />;
}

function Fields({ camera, start, receivers }: { camera: Camera; start: JobSettings; receivers: Receiver[] }) {
  const [saved, setSaved] = useState(start);
  const [form, setForm] = useState(formOfSettings(start));
  const [faults, setFaults] = useState<SettingsFaults>({});
  const [sought, setSought] = useState(0);
  const element = useRef<HTMLFormElement | null>(null);
  const work = useWork();
  useLayoutEffect(() => {
    if (sought > 0) element.current?.querySelector<HTMLElement>("[aria-invalid], .checks:has(.fault) input")?.focus();
  }, [sought]);
  const set = (change: Partial<SettingsForm>): void => setForm((old) => ({ ...old, ...change }));
  const submit = (event: Event): void => {
    event.preventDefault();
    // A receiver that was removed meanwhile asks nobody.
    const receiver = receivers.some((one) => one.id === form.receiver) ? form.receiver : 0;
    const found = settingsFaults({ ...form, receiver });
    setFaults(found);
    if (Object.keys(found).length > 0) return setSought((n) => n + 1);
    // Against what the form made of the settings as they were: its rounding is no change.
    const body = changesOf(settingsBody(formOfSettings(saved)), settingsBody(form));
    void work.run(async () => {
      const now = await call<JobSettings>(`${cameraPath(camera.name)}/job-settings`, { method: "PATCH", body });
      setSaved(now);
      setForm(formOfSettings(now));
    }, "How jobs go here is saved.");
  };
  return (
    <form ref={element} onSubmit={submit} noValidate aria-label="How jobs go here">
      <fieldset class="checks">
        <legend>A job begins</legend>
        <label>
          <input type="checkbox" checked={form.by_movement} onChange={(e) => set({ by_movement: e.currentTarget.checked })} />
          <span>when the machine moves after a rest, too</span>
        </label>
      </fieldset>
      <HoursField hours={form.hours} faults={faults.hours} onChange={(hours) => set({ hours })} />
      <Lengths form={form} faults={faults} set={set} />
      <BedField camera={camera.name} bed={form.bed} fault={faults.bed} onChange={(bed) => set({ bed })} />
      <Several legend="What becomes an event, and by a rule a notice" options={SIGNS.map((sign) => ({ value: sign, label: signText(sign) }))} value={form.tell} onChange={(tell) => set({ tell })} />
      <PauseFields form={form} faults={faults} receivers={receivers} set={set} />
      {work.problem && <ProblemNote problem={work.problem} />}
      <div class="acts">
        <button type="submit" class="main-act" disabled={work.busy}>
          save how jobs go
        </button>
        <Said text={work.done} />
      </div>
    </form>
  );
}

const LENGTHS = [
  { key: "expected_h", label: "Usual length of a job, h", hint: "Where a job does not say its own. Empty: not known." },
  { key: "still_every_s", label: "Time between stills, s", hint: "Each is looked at, and kept where nothing else records." },
  { key: "still_after_min", label: "Tell of no movement after, min", hint: "A machine that pauses for long needs more." },
  { key: "end_after_min", label: "End it when finished for, min", hint: "When it looks finished and rests so long. Jobs of set hours end with them." },
  { key: "film_s", label: "Length of the lapse, s", hint: "The short film that is made at the end. Empty: none." },
  { key: "keep_days", label: "Keep stills and lapse, days", hint: "Recordings have ages of their own: Settings, below." },
] as const;

function Lengths({ form, faults, set }: { form: SettingsForm; faults: SettingsFaults; set: (change: Partial<SettingsForm>) => void }) {
  return (
    <div class="pair">
      {LENGTHS.map(({ key, label, hint }) => (
        <Field key={key} label={label} hint={hint} fault={faults[key]}>
          {(props) => <input {...props} inputMode="decimal" value={form[key]} onInput={(e) => set({ [key]: e.currentTarget.value })} />}
        </Field>
      ))}
    </div>
  );
}
