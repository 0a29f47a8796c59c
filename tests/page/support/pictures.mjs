// JPEG frames for the fake station, made by FFmpeg's program: moving test scenes with a clock in none of them.
import { spawnSync } from "node:child_process";

const SCENES = [
  "testsrc2=size=640x480:rate=10",
  "life=size=320x240:mold=10:rate=10:ratio=0.2:death_color=#3a2c1c:life_color=#e8c98a,scale=640:480",
  "gradients=size=640x480:rate=10:c0=#6b4a2a:c1=#d9b27c:c2=#8a9a6a:speed=0.02",
  "mandelbrot=size=640x480:rate=10",
];

// Splits a run of JPEG files at their end marks (T.81 B.1.1.3: EOI is FF D9; inside entropy-coded data FF is always
// followed by 00 or a restart mark, and FFmpeg writes no thumbnails).
export function splitJpegs(bytes) {
  const out = [];
  let start = 0;
  for (;;) {
    const end = bytes.indexOf(Buffer.from([0xff, 0xd9]), start);
    if (end < 0) return out;
    out.push(bytes.subarray(start, end + 2));
    start = end + 2;
  }
}

function frames(input, width, height, count) {
  const args = ["-v", "error", ...input, "-frames:v", String(count), "-vf", `scale=${width}:${height}`];
  const run = spawnSync("ffmpeg", [...args, "-q:v", "5", "-f", "image2pipe", "-c:v", "mjpeg", "-"], { maxBuffer: 1 << 28 });
  if (run.status !== 0) throw new Error(`ffmpeg: ${run.stderr}`);
  return splitJpegs(run.stdout);
}

let made = null;

// One list of 20 frames a scene; each frame is {jpeg, width, height}. Made once a process.
export function makeScenes() {
  made ??= SCENES.map((scene) =>
    frames(["-f", "lavfi", "-i", scene], 640, 480, 20).map((jpeg) => ({ jpeg, width: 640, height: 480 })),
  );
  return made;
}
