// A live picture: a canvas fed by the page's socket while it is on screen, at the width it has in device pixels.
import { useEffect, useRef, useState } from "preact/hooks";
import { live } from "../store";
import type { LivePlace } from "../live/socket";
import { useOnScreen, useWidth } from "./hooks";

export function paint(canvas: HTMLCanvasElement | null, bitmap: ImageBitmap): void {
  if (!canvas) return;
  if (canvas.width !== bitmap.width) canvas.width = bitmap.width;
  if (canvas.height !== bitmap.height) canvas.height = bitmap.height;
  canvas.getContext("2d", { alpha: false })?.drawImage(bitmap, 0, 0);
}

interface Props {
  camera: string;
  title: string;
  stale?: string | null; // why the picture does not move, in words
}

export function LivePicture({ camera, title, stale }: Props) {
  const [frame, shown] = useOnScreen<HTMLDivElement>();
  const width = useWidth(frame);
  const canvas = useRef<HTMLCanvasElement | null>(null);
  const place = useRef<LivePlace | null>(null);
  const [drawn, setDrawn] = useState(false);

  useEffect(() => {
    setDrawn(false);
    let first = true;
    const added = live.addPlace(camera, (bitmap) => {
      paint(canvas.current, bitmap);
      if (first) setDrawn(true);
      first = false;
    });
    place.current = added;
    return () => added.remove();
  }, [camera]);

  useEffect(() => {
    place.current?.set(Math.round(width * (window.devicePixelRatio || 1)), shown);
  }, [camera, width, shown]);

  return (
    <div class={`picture ${stale ? "is-stale" : ""}`} ref={frame}>
      <canvas ref={canvas} role="img" aria-label={`Live picture of ${title}`} width="4" height="3" data-picture={camera} data-drawn={drawn} />
      {!drawn && <p class="picture-note">{stale ?? "no picture yet"}</p>}
      {drawn && stale && <p class="picture-note is-band">{stale}</p>}
    </div>
  );
}
