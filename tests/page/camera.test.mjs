// One camera in a browser, against the stand-in station: player, gaps, spans, focus aid, dropouts.
import assert from "node:assert/strict";
import { test } from "node:test";
import { clickStrip, settledTime, shownTime, until, waitMoving } from "./support/checks.mjs";
import { asIda, reopen, restart, said, skip, station, tab, text } from "./support/stand_in.mjs";
import { GAP, gapBefore, recordedBefore } from "./support/strips.mjs";

const page = () => [...station.world.pages].at(-1);

test("a camera's page opened directly has the length that fits, and a time before the first picture", { skip }, async () => {
  await restart({ began: Date.now() - 4 * 60_000, trouble: false });
  await reopen();
  await asIda();
  await tab.goto("about:blank");
  // What the read-out says from its first moment on, and no picture to help it.
  await tab.addInitScript(() => {
    globalThis.readOuts = [];
    globalThis.createImageBitmap = () => new Promise(() => {});
    new MutationObserver(() => {
      const words = document.querySelector("[data-read-out]")?.textContent;
      if (words && globalThis.readOuts.at(-1) !== words) globalThis.readOuts.push(words);
    }).observe(document, { subtree: true, childList: true, characterData: true });
  });
  await tab.goto(`${station.address}#/camera/anvil`);
  await tab.waitForSelector(".scrub input:checked + span:has-text('10 min')");
  const readOuts = await tab.evaluate(() => globalThis.readOuts);
  assert.ok(readOuts.length > 0);
  for (const words of readOuts) assert.match(words, /^\d\d:\d\d:\d\d\.\d$/);
});

test("a click on a strip plays that moment, by mouse and by keyboard", { skip }, async () => {
  await asIda();
  const at = recordedBefore(Date.now());
  const exact = await clickStrip(tab, ".row[data-camera=anvil] [role=slider]", at);
  await tab.waitForSelector("canvas[data-mode=playing]");
  await tab.waitForFunction(() => document.querySelector("[data-read-out]").textContent.includes(":"));
  const shown = await shownTime(tab);
  assert.ok(Math.abs(shown - at) < exact + 5_000, `${shown - at} ms off, ${exact} ms a pixel`);
  await tab.goBack();
  await tab.waitForSelector(".row");
  await tab.locator(".row[data-camera=cog] [role=slider]").focus(); // not the blank paper that is there before it
  for (const key of ["End", "ArrowLeft", "ArrowLeft", "ArrowLeft"]) await tab.keyboard.press(key);
  const said = await tab.getAttribute(".row[data-camera=cog] .strip", "aria-valuetext");
  assert.match(said, /^\d\d:\d\d:\d\d, .*recorded/);
  const chosen = Number(await tab.getAttribute(".row[data-camera=cog] .strip", "aria-valuenow")) * 1000;
  await tab.keyboard.press("Enter");
  await tab.waitForSelector(".camera[data-camera=cog] canvas[data-mode=playing]");
  await tab.waitForFunction(() => document.querySelector("[data-read-out]").getAttribute("datetime"));
  assert.ok(Math.abs((await shownTime(tab)) - chosen) < 5_000);
});

test("the player plays, stands, steps and goes back to live by its keys", { skip }, async () => {
  await asIda();
  const at = recordedBefore(Date.now());
  await tab.goto(`${station.address}#/camera/anvil?at=${new Date(at).toISOString()}`);
  await tab.waitForSelector("canvas[data-mode=playing]");
  await waitMoving(tab, ["anvil"]);
  await tab.focus(".picture.is-large");
  await tab.keyboard.press("Space");
  await tab.waitForSelector("canvas[data-mode=paused]");
  const stood = await settledTime(tab);
  await tab.keyboard.press("Period");
  await tab.waitForFunction((t) => Date.parse(document.querySelector("[data-read-out]").getAttribute("datetime")) === t, stood + 100);
  await tab.keyboard.press("Comma");
  await tab.waitForFunction((t) => Date.parse(document.querySelector("[data-read-out]").getAttribute("datetime")) === t, stood);
  await tab.keyboard.press("b");
  await tab.waitForFunction((t) => Date.parse(document.querySelector("[data-read-out]").getAttribute("datetime")) < t, stood - 300);
  assert.match(await text(".read-mode"), /backward/);
  await tab.keyboard.press("+");
  await until(tab, async () => /2 ×/.test(await text(".read-mode")), "the speed is not told");
  await tab.keyboard.press("l");
  await tab.waitForSelector("canvas[data-mode=live]");
  await waitMoving(tab, ["anvil"]);
});

test("a cursor that rests on a recorded moment shows its still", { skip }, async () => {
  await asIda();
  await tab.waitForSelector(".row[data-camera=anvil] .strip");
  const box = await tab.locator(".row[data-camera=anvil] .strip").boundingBox();
  await tab.mouse.move(box.x + 4, box.y + 40);
  await tab.waitForSelector(".glimpse");
  await tab.waitForFunction(() => document.querySelector(".glimpse").naturalWidth === 640);
  await tab.keyboard.press("Escape");
  await tab.mouse.move(5, 5);
  await tab.waitForSelector(".glimpse", { state: "detached" });
});

test("playback stands while the tab is hidden and goes on when it is seen again", { skip }, async () => {
  await asIda();
  const at = recordedBefore(Date.now());
  await tab.goto(`${station.address}#/camera/anvil?at=${new Date(at).toISOString()}`);
  await tab.waitForSelector("canvas[data-mode=playing][data-waiting=false]");
  const see = (state) =>
    tab.evaluate((value) => {
      Object.defineProperty(document, "visibilityState", { value, configurable: true });
      document.dispatchEvent(new Event("visibilitychange"));
    }, state);
  await see("hidden");
  const plays = () => [...page().plays.values()];
  await until(tab, () => plays().every((play) => play.paused), "playback runs on in a hidden tab");
  await see("visible");
  await until(tab, () => plays().some((play) => !play.paused), "playback does not go on");
  await waitMoving(tab, ["anvil"]);
});

test("keys do nothing outside of the player", { skip }, async () => {
  await asIda();
  await tab.goto(`${station.address}#/camera/anvil`);
  await tab.waitForSelector("canvas[data-mode=live]");
  await tab.focus(".panel input");
  await tab.keyboard.press("b");
  await tab.keyboard.press(",");
  assert.equal(await tab.getAttribute(".player canvas", "data-mode"), "live");
});

test("a gap is told as a gap", { skip }, async () => {
  await asIda();
  const gap = gapBefore(Date.now());
  await tab.goto(`${station.address}#/camera/anvil?at=${new Date(gap - 1000).toISOString()}`);
  await tab.waitForSelector(".player-note p");
  assert.match(await text(".player-note"), /nothing is recorded from .* to .* \((29|30) min/);
  await tab.waitForFunction((t) => Date.parse(document.querySelector("[data-read-out]").getAttribute("datetime")) >= t, gap + GAP);
});

test("a span is marked, exported with progress, and kept", { skip }, async () => {
  await asIda();
  const at = recordedBefore(Date.now());
  await tab.goto(`${station.address}#/camera/anvil?at=${new Date(at).toISOString()}`);
  await tab.waitForSelector("canvas[data-mode=playing]");
  assert.ok(await tab.isDisabled("text=export this span"));
  await tab.focus(".picture.is-large");
  await tab.keyboard.press("[");
  await tab.keyboard.press("ArrowRight");
  await tab.keyboard.press("]");
  await until(tab, async () => /1[0-9] s long/.test(await text("#span")), "the span's length is not told");
  await tab.click("text=export this span");
  await tab.waitForSelector("progress");
  await tab.waitForSelector("[data-download]");
  const [download] = await Promise.all([tab.waitForEvent("download"), tab.click("[data-download]")]);
  assert.match(download.suggestedFilename(), /anvil.*\.mkv/);
  await tab.click("text=keep this span");
  await tab.waitForSelector("text=2 segments kept");
  const kept = station.world.kept.at(-1);
  assert.ok(kept.to - kept.from > 9_000 && kept.to - kept.from < 20_000);
});

test("a span is selected by dragging with Shift", { skip }, async () => {
  await asIda();
  await tab.goto(`${station.address}#/camera/anvil`);
  const box = await tab.locator(".scrub .strip").boundingBox();
  await tab.keyboard.down("Shift");
  await tab.mouse.move(box.x + 10, box.y + 40);
  await tab.mouse.down();
  await tab.mouse.move(box.x + 60, box.y + 40, { steps: 4 });
  await tab.mouse.up();
  await tab.keyboard.up("Shift");
  await until(tab, async () => /(h|min).* long/.test(await text("#span")), "the span's length is not told");
  assert.equal(await tab.getAttribute(".player canvas", "data-mode"), "live");
});

test("the focus aid reads every picture, keeps the best, and its part is moved by mouse and keys", { skip }, async () => {
  await asIda();
  await tab.goto(`${station.address}#/focus/anvil`);
  const count = async () => Number(await tab.getAttribute("[data-readings]", "data-readings"));
  await until(tab, async () => (await count()) > 5, "no readings");
  assert.match(await text(".focus-figure"), /^[\d.]+$/);
  assert.match(await text(".focus-number [role=status]"), /% of the best so far/);
  const before = await tab.getAttribute(".focus-part", "style");
  await tab.focus(".focus-picture");
  await tab.keyboard.press("ArrowRight");
  await until(tab, async () => (await tab.getAttribute(".focus-part", "style")) !== before, "the part does not move");
  await tab.click("label:has-text('large')");
  await until(tab, async () => /width: 50%/.test(await tab.getAttribute(".focus-part", "style")), "the part does not grow");
  await tab.click("button:has-text('begin anew')");
  await until(tab, async () => (await count()) > 5, "no readings after beginning anew");
  assert.deepEqual(said, []);
});

test("a camera's page says why it dropped out, with what was seen and earlier ones", { skip }, async () => {
  await asIda();
  await tab.goto(`${station.address}#/camera/anvil`);
  await tab.waitForSelector(".dropout");
  assert.match(await text(".dropout"), /radio \(91 %\)/);
  assert.match(await text(".dropout .dropout-causes"), /radio.*91.%/s);
  assert.match(await text(".dropout .remedy"), /antenna/);
  await tab.click(".dropout summary");
  assert.ok(await tab.isVisible("text=the old connection went on afterwards"));
  assert.equal(await tab.locator(".dropout").count(), 3);
  await tab.click("button:has-text('earlier dropouts')");
  await until(tab, async () => (await tab.locator(".dropout").count()) === 6, "the earlier ones do not come");
  assert.equal(await tab.locator("button:has-text('earlier dropouts')").count(), 0);
});

// A block in columns may be broken inside, and the browser tries that for all grids in it whenever one number changes.
test("the columns of a camera's page take each panel as a whole", { skip }, async () => {
  await asIda();
  await tab.goto(`${station.address}#/camera/anvil`);
  await tab.waitForSelector(".counts");
  const kinds = await tab.$$eval(".panels > *", (all) => all.map((panel) => getComputedStyle(panel).display));
  assert.ok(kinds.length >= 5, kinds.join());
  assert.deepEqual([...new Set(kinds)], ["inline-grid"]);
});
