// The Saltmarsh Repair Hall, a real station with eight make-believe boards: `rookery demo` in a home of its own.
import { spawn, spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { fileURLToPath } from "node:url";
import { noBrowser } from "./browser.mjs";
import { noStation, program } from "./real_station.mjs";

const dist = fileURLToPath(new URL("../../../page/dist", import.meta.url));

// Why there is none to be tried; false where there is.
export const noDemo = noBrowser || noStation || (spawnSync(program, ["demo", "--help"]).status === 0 ? false : "this program has no demo");

// The one JSON line that says the demo's address.
async function firstLine(child) {
  for await (const line of createInterface({ input: child.stdout })) return JSON.parse(line);
  throw new Error("the demo ended without a word");
}

// `address` signs its owner in once; `base` is the station's, with a slash at its end.
export async function startDemo() {
  const home = mkdtempSync(join(tmpdir(), "rookery-page-"));
  const child = spawn(program, ["demo", "--home", home, "--listen", "127.0.0.1:0", "--page", dist, "--json"], { stdio: ["ignore", "pipe", "inherit"] });
  const { address } = await firstLine(child);
  const close = async () => {
    const ended = new Promise((done) => child.once("exit", done));
    if (child.exitCode === null && child.kill("SIGTERM")) await ended;
    rmSync(home, { recursive: true, force: true });
  };
  return { address, base: address.replace(/#.*/, ""), home, close };
}
