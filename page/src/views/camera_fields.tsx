// The fields of a camera's settings, shared by "add a camera" and the settings of one.
import { useState } from "preact/hooks";
import type { Camera, SourceKind } from "../types";
import { Choice, Field } from "../ui/parts";

export interface CameraForm {
  name: string;
  title: string;
  source: SourceKind;
  stream_address: string;
  still_address: string;
  user: string;
  password: string;
  poll_every_s: string;
  enabled: boolean;
  recording: boolean;
  keep_days: string;
  keep_gb: string;
}

export const EMPTY_FORM: CameraForm = {
  name: "",
  title: "",
  source: "stream",
  stream_address: "",
  still_address: "",
  user: "",
  password: "",
  poll_every_s: "1",
  enabled: true,
  recording: true,
  keep_days: "",
  keep_gb: "",
};

export function formOf(camera: Camera): CameraForm {
  return {
    name: camera.name,
    title: camera.title,
    source: camera.source,
    stream_address: camera.stream_address ?? "",
    still_address: camera.still_address ?? "",
    user: camera.user ?? "",
    password: "",
    poll_every_s: String(camera.poll_every_ms / 1000),
    enabled: camera.enabled,
    recording: camera.recording,
    keep_days: camera.keep_for_h === null ? "" : String(camera.keep_for_h / 24),
    keep_gb: camera.keep_bytes === null ? "" : String(camera.keep_bytes / 1e9),
  };
}

// What the API takes. The password goes along only when one was typed.
export function settingsOf(form: CameraForm): Record<string, unknown> {
  return {
    title: form.title.trim(),
    source: form.source,
    stream_address: form.source === "stream" ? form.stream_address.trim() : "",
    still_address: form.source === "pushed" ? "" : form.still_address.trim(),
    user: form.user,
    ...(form.password === "" ? {} : { password: form.password }),
    poll_every_ms: Math.round(Number(form.poll_every_s) * 1000),
    enabled: form.enabled,
    recording: form.recording,
    keep_for_h: form.keep_days.trim() === "" ? null : Math.round(Number(form.keep_days) * 24),
    keep_bytes: form.keep_gb.trim() === "" ? null : Math.round(Number(form.keep_gb) * 1e9),
  };
}

export type Faults = Partial<Record<keyof CameraForm, string>>;

function addressFault(text: string): string | undefined {
  if (/^https?:\/\/[^\s/]+/i.test(text)) {
    return /^https?:\/\/[^/]*@/i.test(text) ? "Leave name and password out of the address; they have fields of their own." : undefined;
  }
  return "An address begins with http:// or https://, for example http://192.168.1.40:81/stream";
}

const isPositive = (text: string): boolean => Number.isFinite(Number(text)) && Number(text) > 0;

// What is wrong before the station is asked, by field.
export function faultsOf(form: CameraForm): Faults {
  const faults: Faults = {};
  const put = (field: keyof CameraForm, fault: string | undefined): void => {
    if (fault) faults[field] = fault;
  };
  if (form.source === "stream") put("stream_address", addressFault(form.stream_address.trim()));
  const still = form.still_address.trim();
  if (form.source === "stills" || (form.source === "stream" && still !== "")) put("still_address", addressFault(still));
  const every = Number(form.poll_every_s);
  if (form.source === "stills" && !(every >= 0.1 && every <= 3600)) put("poll_every_s", "From 0.1 s to 3600 s.");
  if (form.keep_days.trim() !== "" && !isPositive(form.keep_days)) put("keep_days", "A number of days above 0, or nothing.");
  if (form.keep_gb.trim() !== "" && !isPositive(form.keep_gb)) put("keep_gb", "A number of GB above 0, or nothing.");
  return faults;
}

export function useForm(start: CameraForm) {
  const [form, setForm] = useState(start);
  const [faults, setFaults] = useState<Faults>({});
  const set = (change: Partial<CameraForm>): void => setForm((old) => ({ ...old, ...change }));
  return { form, set, setForm, faults, setFaults };
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
        <label>
          <input type="checkbox" checked={form.recording} onChange={(e) => set({ recording: e.currentTarget.checked })} />
          <span>record</span>
        </label>
      </fieldset>
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
      <Field label="Password at the board" hint={hasPassword ? "One is set; empty leaves it as it is." : undefined}>
        {(props) => (
          <input {...props} type="password" autocomplete="new-password" value={form.password} onInput={(e) => set({ password: e.currentTarget.value })} />
        )}
      </Field>
    </div>
  );
}
