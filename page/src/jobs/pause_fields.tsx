// Whose software is asked to pause, by what, and what has to be known before that is switched on.
import type { Receiver } from "../types";
import { Field, Several } from "../ui/parts";
import { Glyph } from "../ui/glyphs";
import { STOP_SIGNS, type SettingsFaults, type SettingsForm } from "./settings_form";
import { signText } from "./words";

interface Props {
  form: SettingsForm;
  faults: SettingsFaults;
  receivers: Receiver[];
  set: (change: Partial<SettingsForm>) => void;
}

export function PauseFields({ form, faults, receivers, set }: Props) {
  return (
    <>
      <fieldset class="checks">
        <legend>Asking for a pause</legend>
        <label>
          <input type="checkbox" checked={form.pauses} onChange={(e) => set({ pauses: e.currentTarget.checked })} />
          <span>ask the machine's software to pause</span>
        </label>
      </fieldset>
      <div class="problem">
        <Glyph sign="look" />
        <div>
          <p class="problem-title">A camera is no safety device</p>
          <p>It sees late, or nothing, or the wrong thing, and a wrong report stops good work. What can burn, crush or shock must not rely on it: follow the machine's maker and local rules.</p>
        </div>
      </div>
      {form.pauses && receivers.length === 0 && (
        <p class="fault" role="alert">
          There is no receiver to ask. Add one under <a href="#/notices">Notices</a> first.
        </p>
      )}
      {form.pauses && receivers.length > 0 && <Who form={form} faults={faults} receivers={receivers} set={set} />}
    </>
  );
}

function Who({ form, faults, receivers, set }: Props) {
  const gone = form.receiver !== 0 && receivers.every((one) => one.id !== form.receiver);
  return (
    <>
      <Field label="Who is asked" hint="A receiver of notices; a webhook or a broker that the machine's software listens to." fault={gone ? "Who was to be asked is no receiver any more. Choose another." : faults.receiver}>
        {(props) => (
          <select {...props} value={String(form.receiver)} onChange={(e) => set({ receiver: Number(e.currentTarget.value) })}>
            <option value="0">nobody yet</option>
            {gone && <option value={String(form.receiver)}>one that was removed</option>}
            {receivers.map((one) => (
              <option key={one.id} value={String(one.id)}>
                {one.name}, {one.kind}
              </option>
            ))}
          </select>
        )}
      </Field>
      <Several legend="When" options={STOP_SIGNS.map((sign) => ({ value: sign, label: signText(sign) }))} value={form.stop_signs} fault={faults.stop_signs} onChange={(stop_signs) => set({ stop_signs })} />
      <Field label="It must stay so for, s" hint="And be so at a second look. What the station is not sure of asks nobody." fault={faults.hold_s}>
        {(props) => <input {...props} inputMode="decimal" value={form.hold_s} onInput={(e) => set({ hold_s: e.currentTarget.value })} />}
      </Field>
    </>
  );
}
