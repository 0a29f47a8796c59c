// What is wrong with the station as a whole, above every page: with numbers, and what to do.
import { call } from "../api";
import { loadStation, station } from "../store";
import type { Trouble } from "../types";
import { troubleTitle } from "../words";
import { Glyph } from "./glyphs";
import { ProblemNote, useWork } from "./parts";

export function Troubles() {
  const troubles = station.value?.troubles ?? [];
  return (
    <div class="troubles">
      {/* Told once when it begins: its numbers change with every look. */}
      <p role="status" class="for-ears">
        {troubles.map((trouble) => troubleTitle(trouble.kind)).join(". ")}
      </p>
      {troubles.map((trouble) => (
        <TroubleNote key={`${trouble.kind} ${trouble.detail}`} trouble={trouble} />
      ))}
    </div>
  );
}

function TroubleNote({ trouble }: { trouble: Trouble }) {
  const work = useWork();
  const confirm = () =>
    void work.run(async () => {
      await call("/api/v1/station/confirm-clock", { method: "POST" });
      await loadStation();
    });
  return (
    <div class="problem">
      <Glyph sign="look" />
      <div>
        <p class="problem-title">{troubleTitle(trouble.kind)}</p>
        <p>{trouble.detail}.</p>
        <p class="remedy">{trouble.remedy}</p>
        {trouble.kind === "clock" && (
          <div class="acts">
            <button type="button" disabled={work.busy} onClick={confirm}>
              the date is right
            </button>
          </div>
        )}
        {work.problem && <ProblemNote problem={work.problem} />}
      </div>
    </div>
  );
}
