// The mask over a picture that plays, on request.
import { signal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import type { Camera } from "../types";
import { drawMask } from "./draw";
import { readMask } from "./mask";

const SHOWN = "rookery.show-mask";

function stored(): boolean {
  try {
    return localStorage.getItem(SHOWN) === "1";
  } catch {
    return false;
  }
}
const shown = signal(stored());

export function MaskSwitch({ camera }: { camera: Camera }) {
  if (!camera.mask) return null;
  const set = (on: boolean): void => {
    shown.value = on;
    try {
      localStorage.setItem(SHOWN, on ? "1" : "0");
    } catch {
      // no storage in this browser: it holds until the page is left
    }
  };
  return (
    <label class="check">
      <input type="checkbox" checked={shown.value} onChange={(event) => set(event.currentTarget.checked)} />
      <span>show the mask</span>
    </label>
  );
}

const WIDTH_PX = 640;

export function MaskOverlay({ camera }: { camera: Camera }) {
  const canvas = useRef<HTMLCanvasElement | null>(null);
  const mask = camera.mask ? readMask(camera.mask) : null;
  useEffect(() => {
    const c = canvas.current?.getContext("2d");
    if (!c || !mask) return;
    c.clearRect(0, 0, c.canvas.width, c.canvas.height);
    drawMask(c, mask, c.canvas.width, c.canvas.height);
  }, [camera.mask, shown.value]);
  if (!mask || !shown.value) return null;
  const height = Math.round((WIDTH_PX * mask.height_px) / mask.width_px);
  return <canvas ref={canvas} class="mask-over" width={WIDTH_PX} height={height} aria-hidden="true" />;
}
