// How long until somebody sees something? Starts `rookery demo` (release build) anew for each run and opens the one-time address
// in Debian's Chromium, as after `./run`.
//
//   node bench/first_sight.mjs [RUNS]        five unless said
//
// address: from the start of the program to the printed address. pictures: from the navigation to eight pictures on the sheet of
// which each has changed at least once; target 2 s. strips: from the navigation to a trace on each of the eight strips. The demo
// has run for 15 s by the time it is opened (its strips hold one value for each 10 s); --fresh opens it at once, as a person
// who clicks at the address.
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { fileURLToPath } from "node:url";
import { openBrowser, openTab } from "../tests/page/support/browser.mjs";

const CAMERAS = 8;
const fresh = process.argv.includes("--fresh");
const runs = Number(process.argv.slice(2).find((word) => /^\d+$/.test(word)) ?? 5);
const program = process.env.ROOKERY ?? fileURLToPath(new URL("../build/release/src/rookery", import.meta.url));
const dist = fileURLToPath(new URL("../page/dist", import.meta.url));

// Runs inside the page from before its first script: notes when the eighth picture has changed, and when the eighth strip
// has ink of its trace. Looks at every animation frame, at few pixels, so that looking costs little.
function watch(cameras) {
  const first = new Map();
  const moved = new Set();
  const traced = new Set();
  const sight = { pictures: null, strips: null };
  globalThis.sight = sight;
  const sample = (canvas, width, height) => {
    const { data } = canvas.getContext("2d").getImageData(0, 0, width, height);
    let sum = 0;
    for (let i = 0; i < data.length; i += 1) sum = (sum * 31 + data[i]) | 0;
    return sum;
  };
  const look = () => {
    for (const row of document.querySelectorAll(".row[data-camera]")) {
      const name = row.dataset.camera;
      const picture = row.querySelector("canvas[data-picture]");
      if (picture && picture.width > 4 && !moved.has(name)) {
        const sum = sample(picture, picture.width, picture.height);
        if (!first.has(name)) first.set(name, sum);
        else if (first.get(name) !== sum) moved.add(name);
      }
      const strip = row.querySelector(".strip");
      if (strip?.dataset.steps > 0) traced.add(name);
    }
    if (sight.pictures === null && moved.size >= cameras) sight.pictures = performance.now();
    if (sight.strips === null && traced.size >= cameras) sight.strips = performance.now();
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}

async function once(browser) {
  const home = mkdtempSync(join(tmpdir(), "rookery-sight-"));
  const began = performance.now();
  const demo = spawn(program, ["demo", "--home", home, "--listen", "127.0.0.1:0", "--page", dist, "--json"], { stdio: ["ignore", "pipe", "inherit"] });
  const ended = new Promise((done) => demo.once("exit", done));
  try {
    const lines = createInterface({ input: demo.stdout })[Symbol.asyncIterator]();
    const { address } = JSON.parse((await lines.next()).value);
    const addressMs = performance.now() - began;
    if (!fresh) await new Promise((done) => setTimeout(done, 15_000));
    // High enough for all eight rows: what is off the screen is not asked for.
    const { tab, context } = await openTab(browser, { height: 1500 });
    await tab.addInitScript(watch, CAMERAS);
    await tab.goto(address);
    await tab.waitForFunction(() => globalThis.sight.pictures !== null && globalThis.sight.strips !== null, null, { timeout: 60_000 });
    const sight = await tab.evaluate(() => globalThis.sight);
    await context.close();
    return { address: addressMs, ...sight };
  } finally {
    demo.kill("SIGTERM");
    await ended;
    rmSync(home, { recursive: true, force: true });
  }
}

const browser = await openBrowser();
const all = [];
for (let i = 0; i < runs; i += 1) all.push(await once(browser));
await browser.close();
for (const what of ["address", "pictures", "strips"]) {
  const values = all.map((run) => run[what]).sort((a, b) => a - b);
  const text = (ms) => `${(ms / 1000).toFixed(2)} s`;
  console.log(`${what.padEnd(9)} median ${text(values[Math.floor(values.length / 2)])} (${text(values[0])} to ${text(values.at(-1))}), ${runs} runs`);
}
