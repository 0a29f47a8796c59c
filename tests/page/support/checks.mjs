// Checks that both page tests make: pictures that move, accessibility, width, time read-outs.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const require = createRequire(import.meta.url);
const AXE = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

// Waits until `ask` says yes; `what` is told when it does not in time.
export async function until(tab, ask, what, deadlineMs = 15_000) {
  const end = Date.now() + deadlineMs;
  while (!(await ask())) {
    assert.ok(Date.now() < end, what);
    await tab.waitForTimeout(40);
  }
}

// The time shown once it stands: the same in five looks.
export async function settledTime(tab) {
  let last = Number.NaN;
  let same = 0;
  await until(tab, async () => {
    const now = await shownTime(tab);
    same = now === last ? same + 1 : 0;
    last = now;
    return same >= 5;
  }, "the time shown does not come to rest");
  return last;
}

// Fonts are there and everything is laid out.
export async function painted(tab) {
  await tab.evaluate(async () => {
    await document.fonts.ready;
    await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
  });
}

// Names of the cameras whose picture has other pixels than at the last call. The page's canvases are compared by a
// sum over all their pixels.
export async function pictureSums(tab) {
  return await tab.$$eval("canvas[data-picture]", (canvases) =>
    Object.fromEntries(
      canvases.map((canvas) => {
        const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
        let sum = 0;
        for (let i = 0; i < data.length; i += 1) sum = (sum * 31 + data[i]) | 0;
        return [canvas.dataset.picture, { sum, width: canvas.width }];
      }),
    ),
  );
}

// Waits until every picture of `names` has changed at least once.
export async function waitMoving(tab, names, deadlineMs = 15_000) {
  const first = await pictureSums(tab);
  const waiting = new Set(names);
  const end = Date.now() + deadlineMs;
  while (waiting.size > 0) {
    assert.ok(Date.now() < end, `these pictures do not move: ${[...waiting].join(", ")}`);
    await tab.waitForTimeout(100);
    const now = await pictureSums(tab);
    for (const name of waiting) {
      if (now[name] && first[name] && now[name].width > 4 && now[name].sum !== first[name].sum) waiting.delete(name);
      first[name] ??= now[name];
    }
  }
}

// axe-core's findings that are serious or critical, WCAG 2.2 A and AA. Run through the debugger, as the page's policy allows
// no foreign script.
export async function seriousFindings(tab) {
  await tab.evaluate(AXE);
  const result = await tab.evaluate(async () => {
    return await globalThis.axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
      rules: { "target-size": { enabled: true } },
    });
  });
  return result.violations
    .filter((one) => one.impact === "serious" || one.impact === "critical")
    .map((one) => `${one.id}: ${one.help}: ${one.nodes.map((node) => `${node.target} ${node.failureSummary}`).join(" | ")}`);
}

// How many pixels wider than the window the page is; 0 when nothing has to be scrolled sideways.
export async function overflow(tab) {
  return await tab.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
}

// The time that the player shows, ms since 1970.
export async function shownTime(tab) {
  return Date.parse((await tab.getAttribute("[data-read-out]", "datetime")) ?? "");
}

// Clicks a strip at a moment. The strip says its bounds, in seconds, for those who listen.
export async function clickStrip(tab, selector, at) {
  const strip = tab.locator(selector);
  await strip.scrollIntoViewIfNeeded();
  const box = await strip.boundingBox();
  const from = Number(await strip.getAttribute("aria-valuemin")) * 1000;
  const to = Number(await strip.getAttribute("aria-valuemax")) * 1000;
  const part = (at - from) / (to - from);
  assert.ok(part >= 0 && part <= 1, "the moment is on the strip");
  await strip.click({ position: { x: Math.round(part * box.width), y: box.height / 2 } });
  return (to - from) / box.width; // ms a pixel: how exact a click can be
}

export async function signIn(tab, address, name, password) {
  await tab.goto(address);
  await tab.fill("input[name=name]", name);
  await tab.fill("input[name=password]", password);
  await tab.click("button[type=submit]");
}

export const VIEWS = [
  ["sheet", "#/", ".row"],
  ["wall", "#/wall", ".print"],
  ["camera", "#/camera/anvil", ".counts"],
  ["focus", "#/focus/anvil", ".focus-figure"],
  ["events", "#/events", ".event-filters"],
  ["jobs", "#/jobs", "form[aria-label='Begin a job']"],
  ["hand over", "#/handover", "[data-handover]"],
  ["find", "#/find", ".found .panel"],
  ["notices", "#/notices", ".notices .panels"],
  ["people", "#/people", ".person-list"],
  ["station", "#/station", ".disk-bar"],
  ["add a camera", "#/add", "form"],
];
