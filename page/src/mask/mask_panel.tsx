// Painting a mask over the camera's newest still: with mouse, finger or pen, or with the keyboard.
import { useEffect, useRef, useState } from "preact/hooks";
import { call, cameraPath } from "../api";
import { takeCamera } from "../store";
import type { Camera } from "../types";
import { Choice, Panel, ProblemNote, Said, useWork } from "../ui/parts";
import { newestStill } from "../ui/still";
import { shareText } from "../words";
import { drawBrush, drawMask } from "./draw";
import { emptyMask, fitted, maskText, painted, readMask, shareIgnored, type Cell, type Mask } from "./mask";

const SIZES = [2, 5, 10, 20];
const UNDOS = 50;

export function MaskPanel({ camera }: { camera: Camera }) {
  const [still, setStill] = useState<ImageBitmap | null>(null);
  const work = useWork();
  const begin = (): void => {
    void work.run(async () => setStill(await newestStill(camera.name)));
  };
  const share = camera.mask ? shareIgnored(readMask(camera.mask) ?? emptyMask(8, 8)) : 0;
  return (
    <Panel title="Mask" id="mask" note="Part of the picture that motion ignores: a road, a tree, a screen.">
      {still ? (
        <Painter camera={camera} still={still} onDone={() => setStill(null)} />
      ) : (
        <>
          <p>{share > 0 ? `${shareText(share)} of the picture is ignored.` : "Nothing is ignored."}</p>
          {work.problem && <ProblemNote problem={work.problem} />}
          <button type="button" disabled={work.busy} onClick={begin}>
            {share > 0 ? "change the mask" : "paint a mask"}
          </button>
        </>
      )}
    </Panel>
  );
}

interface PainterProps {
  camera: Camera;
  still: ImageBitmap;
  onDone: () => void;
}

// The mask being painted, and how it was before each stroke.
function usePainting(camera: Camera, still: ImageBitmap) {
  const [mask, setMask] = useState<Mask>(() => {
    const stored = camera.mask ? readMask(camera.mask) : null;
    return stored ? fitted(stored, still.width, still.height) : emptyMask(still.width, still.height);
  });
  const before = useRef<Mask[]>([]);
  const remember = (): void => {
    before.current = [...before.current.slice(-UNDOS), mask];
  };
  const undo = (): void => {
    const last = before.current.pop();
    if (last) setMask(last);
  };
  return { mask, setMask, remember, undo, canUndo: before.current.length > 0 };
}

function Painter({ camera, still, onDone }: PainterProps) {
  const { mask, setMask, remember, undo, canUndo } = usePainting(camera, still);
  const [size, setSize] = useState(5);
  const [erasing, setErasing] = useState(false);
  const [cursor, setCursor] = useState<Cell | null>(null);
  const canvas = useRef<HTMLCanvasElement | null>(null);
  const last = useRef<Cell | null>(null);
  const work = useWork();

  useEffect(() => {
    const c = canvas.current?.getContext("2d");
    if (!c) return;
    c.drawImage(still, 0, 0);
    drawMask(c, mask, still.width, still.height);
    if (cursor) drawBrush(c, mask, cursor, size, still.width, still.height);
  }, [mask, cursor, size, still]);

  const cellOf = (event: PointerEvent): Cell => {
    const box = (canvas.current as HTMLCanvasElement).getBoundingClientRect();
    return {
      column: Math.floor(((event.clientX - box.left) / box.width) * mask.columns),
      row: Math.floor(((event.clientY - box.top) / box.height) * mask.rows),
    };
  };
  const down = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    canvas.current?.setPointerCapture(event.pointerId);
    remember();
    last.current = cellOf(event);
    setMask((old) => painted(old, last.current as Cell, last.current as Cell, size, !erasing));
  };
  const move = (event: PointerEvent): void => {
    const at = cellOf(event);
    setCursor(at);
    const from = last.current;
    if (!from) return;
    last.current = at;
    setMask((old) => painted(old, from, at, size, !erasing));
  };
  const up = (): void => {
    last.current = null;
  };
  const onKeyDown = (event: KeyboardEvent): void => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const at = cursor ?? { column: Math.floor(mask.columns / 2), row: Math.floor(mask.rows / 2) };
    const far = event.shiftKey ? 10 : 1;
    const within = (cell: Cell): Cell => ({
      column: Math.min(mask.columns - 1, Math.max(0, cell.column)),
      row: Math.min(mask.rows - 1, Math.max(0, cell.row)),
    });
    const index = SIZES.indexOf(size);
    const keys: Record<string, () => void> = {
      ArrowLeft: () => setCursor(within({ ...at, column: at.column - far })),
      ArrowRight: () => setCursor(within({ ...at, column: at.column + far })),
      ArrowUp: () => setCursor(within({ ...at, row: at.row - far })),
      ArrowDown: () => setCursor(within({ ...at, row: at.row + far })),
      " ": () => {
        remember();
        setCursor(at);
        setMask((old) => painted(old, at, at, size, !erasing));
      },
      e: () => setErasing((old) => !old),
      u: undo,
      "[": () => setSize(SIZES[Math.max(0, index - 1)] ?? size),
      "]": () => setSize(SIZES[Math.min(SIZES.length - 1, index + 1)] ?? size),
    };
    const act = keys[event.key];
    if (!act) return;
    event.preventDefault();
    event.stopPropagation();
    act();
  };
  const save = (): void => {
    void work.run(async () => {
      const text = shareIgnored(mask) > 0 ? maskText(mask) : null;
      takeCamera(await call<Camera>(cameraPath(camera.name), { method: "PATCH", body: { mask: text } }));
      onDone();
    });
  };
  const share = shareIgnored(mask);
  return (
    <div class="painter">
      <div class="mask-place">
        <canvas
          ref={canvas}
          width={still.width}
          height={still.height}
          tabIndex={0}
          role="application"
          aria-label={`Mask of ${camera.title || camera.name}. Arrow keys move the brush, with Shift further; space paints; e changes between painting and rubbing out; [ and ] change the brush; u takes back.`}
          aria-describedby="mask-says"
          onPointerDown={down}
          onPointerMove={move}
          onPointerUp={up}
          onPointerCancel={up}
          onPointerLeave={() => last.current === null && setCursor(null)}
          onKeyDown={onKeyDown}
        />
      </div>
      <p id="mask-says" role="status" class="figures">
        {shareText(share)} of the picture is ignored.
        {cursor && <span class="for-ears"> {placeWords(mask, cursor)}</span>}
      </p>
      <div class="pair">
        <Choice legend="Brush" name="mask-act" value={erasing ? "erase" : "paint"} options={[{ value: "paint", label: "ignore" }, { value: "erase", label: "look again" }]} onChange={(value) => setErasing(value === "erase")} />
        <Choice legend="Size, cells" name="mask-size" value={String(size)} options={SIZES.map((one) => ({ value: String(one), label: String(one) }))} onChange={(value) => setSize(Number(value))} />
      </div>
      {work.problem && <ProblemNote problem={work.problem} />}
      <div class="acts">
        <button type="button" class="main-act" disabled={work.busy} onClick={save}>
          save the mask
        </button>
        <button type="button" disabled={!canUndo} onClick={undo}>
          take back
        </button>
        <button
          type="button"
          onClick={() => {
            remember();
            setMask(emptyMask(still.width, still.height));
          }}
        >
          clear
        </button>
        <button type="button" class="quiet" onClick={onDone}>
          leave as it was
        </button>
        <Said text={work.done} />
      </div>
      <p class="hint">Events that lie in it are not made any more; those in the log stay. “rookery replay” shows what a mask would have changed.</p>
    </div>
  );
}

function placeWords(mask: Mask, at: Cell): string {
  const inside = at.row >= 0 && at.column >= 0 && at.row < mask.rows && at.column < mask.columns;
  const covered = inside && mask.ignored[at.row * mask.columns + at.column] === 1;
  return `Column ${at.column + 1} of ${mask.columns}, row ${at.row + 1} of ${mask.rows}, ${covered ? "ignored" : "looked at"}.`;
}
