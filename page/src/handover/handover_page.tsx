// Hand over: each camera's steady addresses for other software, and a token that opens them.
import { useState } from "preact/hooks";
import { cameras, isOwner } from "../store";
import type { Camera } from "../types";
import { useTitle } from "../ui/hooks";
import { hookLines } from "./reading";
import { Tokens } from "../views/tokens";

export function HandOverPage() {
  useTitle("hand over");
  const all = cameras.value;
  return (
    <div class="jobs">
      <div class="sheet-head">
        <h1>Hand over</h1>
        <p class="hint">
          Other software gets a still and a stream from the station instead of the board: at addresses that stay, for as many viewers as come, while the board serves one. They open for whoever is signed
          in here, and for a program with a token.
        </p>
      </div>
      {all?.length === 0 && <p>There is no camera yet.</p>}
      {all === null && <p role="status">Asking for the cameras …</p>}
      <div class="handovers">
        {all?.map((camera) => (
          <HandOver key={camera.name} camera={camera} />
        ))}
      </div>
      {!isOwner.value && <p class="hint">An owner makes the tokens that open these addresses.</p>}
    </div>
  );
}

function HandOver({ camera }: { camera: Camera }) {
  const [open, setOpen] = useState(false);
  const name = encodeURIComponent(camera.name);
  return (
    <article class="job" aria-label={camera.title || camera.name} data-handover={camera.name}>
      <p>
        <b>{camera.title || camera.name}</b>
      </p>
      <p class="figures">
        still <code>{`${location.origin}/live/${name}.jpg`}</code>
      </p>
      <p class="figures">
        stream <code>{`${location.origin}/live/${name}.mjpeg`}</code>
      </p>
      {isOwner.value && (
        <button type="button" class="quiet" aria-expanded={open} onClick={() => setOpen(!open)}>
          {open ? "less" : "tokens that open them"}
        </button>
      )}
      {open && <Tokens camera={camera} />}
      <details>
        <summary>a machine's software tells of its jobs</summary>
        <p class="hint">
          With a token that may tell of jobs, in place of the word TOKEN, a machine's software calls this when its job begins, goes on and ends. Called twice, late or in the wrong order it does no harm.
        </p>
        <pre class="shell" tabIndex={0} aria-label={`Lines for curl, ${camera.title || camera.name}`}>
          {hookLines(`${location.origin}/api/v1/hooks/${name}`, "TOKEN")}
        </pre>
      </details>
    </article>
  );
}
