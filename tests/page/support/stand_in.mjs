// How tests against the stand-in station begin and end: one browser a file, a station and a tab of its own a test. What is
// exported changes with each test; an import follows it.
import { after, afterEach, before, beforeEach } from "node:test";
import { existsSync } from "node:fs";
import { spawnSync } from "node:child_process";
import { fileURLToPath } from "node:url";
import { noBrowser, openBrowser, openTab } from "./browser.mjs";
import { signIn } from "./checks.mjs";
import { startFakeStation } from "./fake_station.mjs";

const built = existsSync(fileURLToPath(new URL("../../../page/dist/index.html", import.meta.url)));
const ffmpeg = spawnSync("ffmpeg", ["-version"]).status === 0;
export const skip = noBrowser || (built ? false : "page/dist is not built") || (ffmpeg ? false : "no ffmpeg to make pictures with");
// ./test has installed all of it: there, a missing piece is a failure.
if (skip && process.env.ROOKERY_ALL_THERE) throw new Error(skip);

let browser;
export let station;
export let tab;
export let context;
export let said; // errors of the console and of scripts

// Another tab in place of the one that is open: see openTab.
export async function reopen(options) {
  await context?.close();
  ({ tab, context, said } = await openTab(browser, options));
}

// Another station in place of the one that runs: see makeWorld. The tab shows the old one until it is sent elsewhere.
export async function restart(options) {
  await station?.close();
  station = await startFakeStation(options);
}

export const asIda = () => signIn(tab, station.address, "ida", "saltmarsh").then(() => tab.waitForSelector(".row"));
export const text = (selector) => tab.textContent(selector);

if (!skip) {
  before(async () => {
    browser = await openBrowser();
  });
  after(async () => {
    await browser?.close();
  });
  beforeEach(async () => {
    await restart();
    await reopen();
  });
  afterEach(async () => {
    await context.close();
    await station.close();
    context = station = undefined;
  });
}
