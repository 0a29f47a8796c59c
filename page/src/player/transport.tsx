// Transport: words and our own signs, and the list of keys in plain sight.
import { useWidthClass } from "../ui/width_class";
import { Glyph } from "../ui/glyphs";
import { KEY_LINES } from "./keys";
import type { Player } from "./player";
import { SPEEDS, type Speed } from "./state";

export function Transport({ player, onMark }: { player: Player; onMark: (which: "from" | "to") => void }) {
  const state = player.state.value;
  const playing = state.mode === "playing";
  return (
    <div class="transport">
      <div class="transport-row" role="group" aria-label="Playback">
        <button type="button" onClick={() => player.wish({ do: "step", frames: -1 })}>
          <Glyph sign="stepBack" /> frame back
        </button>
        <button type="button" aria-pressed={playing && !state.forward} onClick={() => player.wish({ do: "turn", forward: false })}>
          <Glyph sign="back" /> backward
        </button>
        <button type="button" aria-pressed={state.mode === "paused"} onClick={() => player.wish({ do: "pause" })}>
          <Glyph sign="pause" /> stand
        </button>
        <button
          type="button"
          aria-pressed={playing && state.forward}
          disabled={state.mode === "live"}
          onClick={() => player.wish({ do: "turn", forward: true })}
        >
          <Glyph sign="play" /> forward
        </button>
        <button type="button" disabled={state.mode === "live"} onClick={() => player.wish({ do: "step", frames: 1 })}>
          <Glyph sign="stepOn" /> frame on
        </button>
        <button type="button" class="go-live" disabled={state.mode === "live"} onClick={() => player.wish({ do: "live" })}>
          go to live
        </button>
      </div>
      <div class="transport-row">
        <fieldset class="choice">
          <legend>speed</legend>
          {SPEEDS.map((speed) => (
            <SpeedOption key={speed} speed={speed} chosen={state.speed === speed} onChoose={() => player.wish({ do: "speed", speed })} />
          ))}
        </fieldset>
        <div class="marks" role="group" aria-label="Span">
          <button type="button" onClick={() => onMark("from")}>
            <Glyph sign="markStart" /> mark start
          </button>
          <button type="button" onClick={() => onMark("to")}>
            <Glyph sign="markEnd" /> mark end
          </button>
        </div>
      </div>
      <KeyHelp />
    </div>
  );
}

function SpeedOption({ speed, chosen, onChoose }: { speed: Speed; chosen: boolean; onChoose: () => void }) {
  return (
    <label>
      <input type="radio" name="speed" checked={chosen} onChange={onChoose} />
      <span class="figures">{speed} ×</span>
    </label>
  );
}

function KeyHelp() {
  const wide = useWidthClass() === "wide";
  return (
    <details class="key-help" open={wide}>
      <summary>keys, while the picture or a control under it has the focus</summary>
      <dl>
        {KEY_LINES.map((line) => (
          <div key={line.keys}>
            <dt>
              <kbd>{line.keys}</kbd>
            </dt>
            <dd>{line.does}</dd>
          </div>
        ))}
        <div>
          <dt>
            <kbd>Shift</kbd> + drag
          </dt>
          <dd>select a span on the strip</dd>
        </div>
      </dl>
    </details>
  );
}
