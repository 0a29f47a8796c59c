// Which day and how long a piece of paper: shared by the sheet and a camera's page.
import type { Signal } from "@preact/signals";
import { stationNow, tick } from "../store";
import { dateField, dayText, minuteText, readDateField, zoneText } from "../time";
import { Choice } from "../ui/parts";
import { Glyph } from "../ui/glyphs";
import { holdsNow, LENGTHS, moved, onDay, spanOf, withLength, type View } from "./view";

export function ViewBar({ view, focus, name }: { view: Signal<View>; focus?: () => number | null; name: string }) {
  const now = tick.value;
  const span = spanOf(view.value, now);
  const present = holdsNow(view.value, now);
  const unit = LENGTHS.find((one) => one.length === view.value.length)?.label ?? "";
  const sameDay = view.value.length === "day";
  return (
    <div class="view-bar">
      <div class="cell">
        <span class="cell-name" id={`${name}-day`}>
          day
        </span>
        <div class="cell-row">
          <button type="button" class="quiet" onClick={() => (view.value = moved(view.value, -1, stationNow()))}>
            <Glyph sign="earlier" />
            <span class="for-ears">{unit} earlier</span>
          </button>
          <input
            type="date"
            aria-labelledby={`${name}-day`}
            value={dateField(span.from)}
            max={dateField(now)}
            onChange={(event) => {
              const day = readDateField(event.currentTarget.value);
              if (day !== null) view.value = onDay(view.value, day, stationNow());
            }}
          />
          <button type="button" class="quiet" disabled={present} onClick={() => (view.value = moved(view.value, 1, stationNow()))}>
            <Glyph sign="later" />
            <span class="for-ears">{unit} later</span>
          </button>
          <button type="button" class="quiet" disabled={view.value.start === null} onClick={() => (view.value = { ...view.value, start: null })}>
            today
          </button>
        </div>
      </div>
      <div class="cell">
        <Choice
          legend="length"
          name={`${name}-length`}
          value={view.value.length}
          options={LENGTHS.map(({ length, label }) => ({ value: length, label }))}
          onChange={(length) => (view.value = withLength(view.value, length, focus?.() ?? null, stationNow()))}
        />
      </div>
      <div class="cell is-wide">
        <span class="cell-name">shown</span>
        <p class="cell-value figures" role="status">
          {dayText(span.from)}
          {sameDay ? "" : `, ${minuteText(span.from)}–${minuteText(span.to)}`} {zoneText(span.from)}
        </p>
      </div>
    </div>
  );
}
