// The fields of a camera's settings, shared by "add a camera" and the settings of one.
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import { Choice, Field } from "../ui/parts";
import { SENSITIVITIES } from "../words";
import type { CameraForm, Faults } from "./camera_form";

// What stands in the fields and what is wrong with it. `element` belongs to the <form>; call `toFirstFault` after the faults
// were set, and the first faulty field has the focus as soon as it is marked: still within the click, for in any later task
// the person may be typing elsewhere already.
export function useForm(start: CameraForm) {
  const [form, setForm] = useState(start);
  const [faults, setFaults] = useState<Faults>({});
  const [sought, setSought] = useState(0);
  const element = useRef<HTMLFormElement | null>(null);
  useLayoutEffect(() => {
    if (sought > 0) element.current?.querySelector<HTMLElement>("[aria-invalid]")?.focus();
  }, [sought]);
  const set = (change: Partial<CameraForm>): void => setForm((old) => ({ ...old, ...change }));
  const toFirstFault = (): void => setSought((n) => n + 1);
  return { form, set, setForm, faults, setFaults, element, toFirstFault };
}

interface Props {
  form: CameraForm;
  faults: Faults;
  set: (change: Partial<CameraForm>) => void;
  hasPassword?: boolean | undefined;
}

export function CameraFields({ form, faults, set, hasPassword }: Props) {
  return (
    <>
      <Field label="Title" hint="For people, for example “Front counter”. Empty: the name.">
        {(props) => <input {...props} value={form.title} onInput={(e) => set({ title: e.currentTarget.value })} maxLength={200} />}
      </Field>
      <Choice
        legend="How pictures come"
        name="source"
        value={form.source}
        options={[
          { value: "stream", label: "stream of the board" },
          { value: "stills", label: "stills, asked for" },
          { value: "pushed", label: "the board sends stills" },
        ]}
        onChange={(source) => set({ source })}
      />
      <Addresses form={form} faults={faults} set={set} />
      {form.source === "pushed" && <p class="hint">Make an access token that may send stills once the camera is on the sheet, and give it to the board.</p>}
      {form.source !== "pushed" && <BoardSignIn form={form} set={set} hasPassword={hasPassword} />}
      <fieldset class="checks">
        <legend>Work</legend>
        <label>
          <input type="checkbox" checked={form.enabled} onChange={(e) => set({ enabled: e.currentTarget.checked })} />
          <span>in use</span>
        </label>
      </fieldset>
      <Motion form={form} faults={faults} set={set} />
      <div class="pair">
        <Field label="Delete after, days" hint="Empty: when the disk needs the space." fault={faults.keep_days}>
          {(props) => <input {...props} inputMode="decimal" value={form.keep_days} onInput={(e) => set({ keep_days: e.currentTarget.value })} />}
        </Field>
        <Field label="At most, GB" hint="Empty: no bound of its own." fault={faults.keep_gb}>
          {(props) => <input {...props} inputMode="decimal" value={form.keep_gb} onInput={(e) => set({ keep_gb: e.currentTarget.value })} />}
        </Field>
      </div>
    </>
  );
}

// What counts as motion, and what is recorded of it.
function Motion({ form, faults, set }: { form: CameraForm; faults: Faults; set: Props["set"] }) {
  return (
    <>
      <Choice
        legend="Record"
        name="record"
        value={form.record}
        options={[
          { value: "always", label: "always" },
          { value: "events", label: "around events" },
          { value: "never", label: "never" },
        ]}
        onChange={(record) => set({ record })}
      />
      {form.record === "events" && (
        <div class="pair">
          <Field label="Before an event, s" hint="Held in memory all the time." fault={faults.pre_roll_s}>
            {(props) => <input {...props} inputMode="decimal" value={form.pre_roll_s} onInput={(e) => set({ pre_roll_s: e.currentTarget.value })} />}
          </Field>
          <Field label="After it, s" fault={faults.post_roll_s}>
            {(props) => <input {...props} inputMode="decimal" value={form.post_roll_s} onInput={(e) => set({ post_roll_s: e.currentTarget.value })} />}
          </Field>
        </div>
      )}
      <Field label="Smallest thing that counts as motion" hint="Of the picture, and lasting for about a second.">
        {(props) => (
          <select {...props} value={form.sensitivity} onChange={(e) => set({ sensitivity: e.currentTarget.value })}>
            {SENSITIVITIES.map(({ step, words }) => (
              <option key={step} value={String(step)}>
                {words}
              </option>
            ))}
          </select>
        )}
      </Field>
    </>
  );
}

function Addresses({ form, faults, set }: { form: CameraForm; faults: Faults; set: Props["set"] }) {
  return (
    <>
      {form.source === "stream" && (
        <Field label="Stream address" hint="The motion-JPEG stream of the board." fault={faults.stream_address}>
          {(props) => (
            <input {...props} type="url" spellcheck={false} value={form.stream_address} onInput={(e) => set({ stream_address: e.currentTarget.value })} />
          )}
        </Field>
      )}
      {form.source !== "pushed" && (
        <Field label="Still address" hint={form.source === "stream" ? "May stay empty." : "Answers with one JPEG."} fault={faults.still_address}>
          {(props) => (
            <input {...props} type="url" spellcheck={false} value={form.still_address} onInput={(e) => set({ still_address: e.currentTarget.value })} />
          )}
        </Field>
      )}
      {form.source === "stills" && (
        <Field label="Ask every, s" fault={faults.poll_every_s}>
          {(props) => <input {...props} inputMode="decimal" value={form.poll_every_s} onInput={(e) => set({ poll_every_s: e.currentTarget.value })} />}
        </Field>
      )}
    </>
  );
}

function BoardSignIn({ form, set, hasPassword }: { form: CameraForm; set: Props["set"]; hasPassword: boolean | undefined }) {
  return (
    <div class="pair">
      <Field label="Name at the board" hint="Most boards ask for none.">
        {(props) => <input {...props} autocomplete="off" spellcheck={false} value={form.user} onInput={(e) => set({ user: e.currentTarget.value })} />}
      </Field>
      <Field label="Password at the board" hint={hasPassword ? "One is set; empty leaves it as it is. Without a name there is none." : undefined}>
        {(props) => (
          <input {...props} type="password" autocomplete="new-password" value={form.password} onInput={(e) => set({ password: e.currentTarget.value })} />
        )}
      </Field>
    </div>
  );
}
