// The page's own signs, drawn in one stroke width. Each state has its own shape.
import type { CameraState } from "../types";

const STATE_SHAPES: Record<CameraState, preact.ComponentChild> = {
  live: <circle cx="7" cy="7" r="4.6" fill="currentColor" stroke="none" />,
  connecting: (
    <>
      <circle cx="7" cy="7" r="4.6" stroke-dasharray="2.4 2.4" />
      <circle cx="7" cy="7" r="1.2" fill="currentColor" stroke="none" />
    </>
  ),
  silent: <path d="M1.5 7h3l1.2 0M8.3 7h4.2M5.8 3.2v7.6M8.2 3.2v7.6" />,
  waiting: <path d="M3 2h8M3 12h8M3.8 2c0 3.2 6.4 6.8 6.4 10M10.2 2c0 3.2-6.4 6.8-6.4 10" />,
  asleep: <path d="M10.6 9.6A5 5 0 1 1 6.2 2.2a4.2 4.2 0 0 0 4.4 7.4z" />,
  off: <path d="M2.6 2.6h8.8v8.8H2.6zM2.6 11.4l8.8-8.8" />,
};

export function StateGlyph({ state }: { state: CameraState }) {
  return (
    <svg class="glyph" viewBox="0 0 14 14" width="14" height="14" aria-hidden="true" focusable="false">
      {STATE_SHAPES[state]}
    </svg>
  );
}

const SIGNS = {
  play: <path d="M4 2.5v9l7-4.5z" fill="currentColor" />,
  back: <path d="M10 2.5v9l-7-4.5z" fill="currentColor" />,
  pause: <path d="M4.5 2.5v9M9.5 2.5v9" stroke-width="2.2" />,
  stepOn: <path d="M3 2.5v9l5.5-4.5zM11 2.5v9" />,
  stepBack: <path d="M11 2.5v9L5.5 7zM3 2.5v9" />,
  earlier: <path d="M9 2.5L4.5 7 9 11.5" />,
  later: <path d="M5 2.5L9.5 7 5 11.5" />,
  look: <path d="M7 1.8L13 12H1zM7 5.6v3M7 10.2v.4" />,
  markStart: <path d="M9 2H5v10h4M8 7h4" />,
  markEnd: <path d="M5 2h4v10H5M2 7h4" />,
};
export type Sign = keyof typeof SIGNS;

export function Glyph({ sign }: { sign: Sign }) {
  return (
    <svg class="glyph" viewBox="0 0 14 14" width="14" height="14" aria-hidden="true" focusable="false">
      {SIGNS[sign]}
    </svg>
  );
}
