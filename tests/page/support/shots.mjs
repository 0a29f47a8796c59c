// Screenshots of every view against the fake station, to be looked at: node support/shots.mjs FOLDER
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { openBrowser, openTab } from "./browser.mjs";
import { startFakeStation } from "./fake_station.mjs";

const folder = process.argv[2] ?? "shots";
const only = process.argv[3];
mkdirSync(folder, { recursive: true });
const station = await startFakeStation();
const browser = await openBrowser();
const at = new Date(Date.now() - 2_700_000).toISOString();
const views = [
  ["sheet", "#/"],
  ["wall", "#/wall"],
  ["camera", `#/camera/anvil?at=${at}`],
  ["kiln", "#/camera/kiln"],
  ["focus", "#/focus/bobbin"],
  ["events", "#/events"],
  ["jobs", "#/jobs"],
  ["job", "#/jobs/2"],
  ["past-job", "#/jobs/1"],
  ["hand-over", "#/handover"],
  ["find", "#/find"],
  ["notices", "#/notices"],
  ["people", "#/people"],
  ["station", "#/station"],
  ["add", "#/add"],
];
for (const [width, scheme] of [[1280, "light"], [1280, "dark"], [360, "light"], [360, "dark"]]) {
  const { tab, said } = await openTab(browser, { width, scheme });
  await tab.goto(station.address);
  if (!only || only === "sign-in") await tab.screenshot({ path: join(folder, `sign-in-${width}-${scheme}.png`) });
  await tab.fill("input[name=name]", "ida");
  await tab.fill("input[name=password]", "saltmarsh");
  await tab.click("button[type=submit]");
  await tab.waitForSelector(".sheet");
  for (const [name, hash] of views) {
    if (only && only !== name) continue;
    await tab.goto(station.address + hash);
    await tab.waitForTimeout(1800);
    await tab.screenshot({ path: join(folder, `${name}-${width}-${scheme}.png`), fullPage: width === 1280 || name !== "sheet" });
  }
  if (said.length > 0) console.log(width, scheme, said);
}
await browser.close();
await station.close();
