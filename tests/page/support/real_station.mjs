// A real station without cameras, for what only the program knows: sums. One owner, Ida.
import { spawn, spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { fileURLToPath } from "node:url";

export const program = process.env.ROOKERY ?? fileURLToPath(new URL("../../../build/debug/src/rookery", import.meta.url));
const dist = fileURLToPath(new URL("../../../page/dist", import.meta.url));

export const noStation = !existsSync(program) ? `no program at ${program}` : existsSync(join(dist, "index.html")) ? false : "page/dist is not built";

export const PASSWORD = "saltmarsh hall";

// Its address, and how to end it.
export async function startStation() {
  const home = mkdtempSync(join(tmpdir(), "rookery-bench-"));
  const person = spawnSync(program, ["person", "add", "ida", "--role", "owner", "--password-stdin", "--home", home], { input: PASSWORD });
  if (person.status !== 0) throw new Error(String(person.stderr));
  const child = spawn(program, ["serve", "--home", home, "--listen", "127.0.0.1:0", "--page", dist, "--json"], { stdio: ["ignore", "pipe", "inherit"] });
  let address;
  for await (const line of createInterface({ input: child.stdout })) {
    ({ address } = JSON.parse(line));
    break;
  }
  if (!address) throw new Error("the station ended without a word");
  const close = async () => {
    const ended = new Promise((done) => child.once("exit", done));
    if (child.exitCode === null && child.kill("SIGTERM")) await ended;
    rmSync(home, { recursive: true, force: true });
  };
  return { address, close };
}
