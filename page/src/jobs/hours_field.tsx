// Hours of the week in which a job is to run.
import { DAYS } from "../notices/form";
import { Field, Several } from "../ui/parts";
import { MOST_HOURS, WHOLE_DAY, type HoursForm } from "./settings_form";

interface Props {
  hours: HoursForm[];
  faults: (string | null)[] | undefined;
  onChange: (hours: HoursForm[]) => void;
}

export function HoursField({ hours, faults, onChange }: Props) {
  const put = (n: number, change: Partial<HoursForm>): void => onChange(hours.map((one, m) => (m === n ? { ...one, ...change } : one)));
  return (
    <fieldset class="job-hours">
      <legend class="cell-name">By the clock</legend>
      {hours.length === 0 && <p class="hint">No hours are set. With some, a job begins and ends by itself.</p>}
      {hours.map((one, n) => (
        <div key={n} class="job-hour" role="group" aria-label={`Hours ${n + 1}`}>
          <Several legend="Days" options={DAYS.map((day) => ({ value: day, label: day.slice(0, 3) }))} value={one.days} onChange={(days) => put(n, { days })} />
          <div class="pair">
            <Field label="From" hint="Local time of the station." fault={faults?.[n]}>
              {(props) => <input {...props} value={one.from} onInput={(e) => put(n, { from: e.currentTarget.value })} />}
            </Field>
            <Field label="For, h" hint="May go on into the next day.">
              {(props) => <input {...props} inputMode="decimal" value={one.length_h} onInput={(e) => put(n, { length_h: e.currentTarget.value })} />}
            </Field>
          </div>
          <button type="button" class="quiet" onClick={() => onChange(hours.filter((_, m) => m !== n))}>
            take these hours away
          </button>
        </div>
      ))}
      {hours.length < MOST_HOURS && (
        <button type="button" onClick={() => onChange([...hours, WHOLE_DAY])}>
          add hours
        </button>
      )}
    </fieldset>
  );
}
