// Where the machine works, drawn on the camera's newest still; the four numbers do the same for the keyboard.
import { useEffect, useRef, useState } from "preact/hooks";
import { Choice, Field, ProblemNote, useWork } from "../ui/parts";
import { newestStill } from "../ui/still";
import { bedBetween, bedForm, bedOf, type BedForm } from "./settings_form";

const MIDDLE: BedForm = { x: "20", y: "20", w: "60", h: "60" };
const SIDES = [
  { key: "x", label: "Left, %" },
  { key: "y", label: "Top, %" },
  { key: "w", label: "Width, %" },
  { key: "h", label: "Height, %" },
] as const;

interface Props {
  camera: string;
  bed: BedForm | null;
  fault: string | undefined;
  onChange: (bed: BedForm | null) => void;
}

export function BedField({ camera, bed, fault, onChange }: Props) {
  return (
    <div class="bed-field">
      <Choice
        legend="Where the machine works"
        name="job-bed"
        value={bed ? "drawn" : "found"}
        options={[
          { value: "found", label: "the station finds it" },
          { value: "drawn", label: "as drawn here" },
        ]}
        onChange={(value) => onChange(value === "drawn" ? MIDDLE : null)}
      />
      {bed && <BedPicture camera={camera} bed={bed} onChange={onChange} />}
      {bed && (
        <div class="bed-sides">
          {SIDES.map(({ key, label }) => (
            <Field key={key} label={label} fault={fault && key === "x" ? fault : undefined}>
              {(props) => <input {...props} inputMode="decimal" value={bed[key]} onInput={(e) => onChange({ ...bed, [key]: e.currentTarget.value })} />}
            </Field>
          ))}
        </div>
      )}
    </div>
  );
}

function BedPicture({ camera, bed, onChange }: { camera: string; bed: BedForm; onChange: (bed: BedForm) => void }) {
  const [still, setStill] = useState<ImageBitmap | null>(null);
  const canvas = useRef<HTMLCanvasElement | null>(null);
  const from = useRef<{ x: number; y: number } | null>(null);
  const work = useWork();
  useEffect(() => void work.run(async () => setStill(await newestStill(camera))), [camera]);
  useEffect(() => {
    const c = canvas.current?.getContext("2d");
    if (c && still) drawBed(c, still, bed);
  }, [still, bed]);
  const at = (event: PointerEvent): { x: number; y: number } => {
    const box = (canvas.current as HTMLCanvasElement).getBoundingClientRect();
    return { x: (event.clientX - box.left) / box.width, y: (event.clientY - box.top) / box.height };
  };
  if (work.problem) return <ProblemNote problem={work.problem} />;
  if (!still) return <p role="status">Asking for a still …</p>;
  return (
    <>
      <div class="mask-place">
        <canvas
          ref={canvas}
          width={still.width}
          height={still.height}
          role="img"
          aria-label="Newest still with the machine's place framed. The four numbers below move it."
          data-bed
          onPointerDown={(event) => {
            if (event.button !== 0) return;
            canvas.current?.setPointerCapture(event.pointerId);
            from.current = at(event);
          }}
          onPointerMove={(event) => from.current && onChange(bedForm(bedBetween(from.current, at(event))))}
          onPointerUp={() => (from.current = null)}
          onPointerCancel={() => (from.current = null)}
        />
      </div>
      <p class="hint">Drag over the picture from corner to corner, or type the numbers.</p>
    </>
  );
}

function drawBed(c: CanvasRenderingContext2D, still: ImageBitmap, form: BedForm): void {
  c.drawImage(still, 0, 0);
  const bed = bedOf(form);
  if (![bed.x, bed.y, bed.w, bed.h].every(Number.isFinite)) return; // while it is being typed
  const [x, y, w, h] = [bed.x * still.width, bed.y * still.height, bed.w * still.width, bed.h * still.height];
  c.fillStyle = "rgba(20, 24, 40, 0.45)";
  c.beginPath();
  c.rect(0, 0, still.width, still.height);
  c.rect(x, y, w, h);
  c.fill("evenodd");
  for (const [colour, wide] of [["#000", 5], ["#fff", 2.5]] as const) {
    c.strokeStyle = colour;
    c.lineWidth = wide;
    c.strokeRect(x, y, w, h);
  }
}
