// Debian's Chromium by playwright-core; a page that remembers what its console said.
import { existsSync } from "node:fs";
import { chromium } from "playwright-core";

export const CHROMIUM = process.env.ROOKERY_CHROMIUM ?? "/usr/bin/chromium";
export const noBrowser = existsSync(CHROMIUM) ? false : `no Chromium at ${CHROMIUM}`;

export async function openBrowser() {
  return await chromium.launch({
    executablePath: CHROMIUM,
    headless: true,
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
}

// Where it is day: tests look at what was twenty minutes ago, and around midnight that is another page of the sheet.
function zoneOfDay() {
  const hour = new Date().getUTCHours();
  return hour >= 19 || hour < 4 ? "Pacific/Auckland" : "Europe/Oslo";
}

// A tab of its own cookies. `said` collects errors of the console and of scripts.
export async function openTab(browser, { width = 1280, height = 800, scheme = "light", ratio = 1 } = {}) {
  const context = await browser.newContext({
    viewport: { width, height },
    colorScheme: scheme,
    deviceScaleFactor: ratio,
    locale: "en-GB",
    timezoneId: zoneOfDay(),
    acceptDownloads: true,
  });
  const tab = await context.newPage();
  tab.setDefaultTimeout(60_000); // machines are shared: a page that is slow is not a page that is wrong
  const said = [];
  tab.on("console", (message) => {
    if (message.type() === "error") said.push(message.text());
  });
  tab.on("pageerror", (error) => said.push(String(error)));
  return { tab, context, said };
}
