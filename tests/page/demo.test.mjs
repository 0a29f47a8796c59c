// The page against the real station: `rookery demo`, the Saltmarsh Repair Hall. What a moment shows is proved by the clock
// that the make-believe boards draw into their pictures.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { statSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { openBrowser, openTab } from "./support/browser.mjs";
import { clickStrip, overflow, painted, seriousFindings, settledTime, VIEWS, waitMoving } from "./support/checks.mjs";
import { clockOnCanvas } from "./support/clock_code.mjs";
import { noDemo, startDemo } from "./support/demo.mjs";

const ffprobe = spawnSync("ffprobe", ["-version"]).status === 0;
const skip = noDemo || (ffprobe ? false : "no ffprobe");
// ./test has installed all of it: there, a missing piece is a failure.
if (skip && process.env.ROOKERY_ALL_THERE) throw new Error(skip);

const NAMES_AT_LEAST = 8;
let demo;
let base; // http://127.0.0.1:PORT/
let browser;
let tab;
let context;
let said;
let began; // when all eight were seen moving: recorded from here on
let names = [];

const PLAYER = ".player canvas";

// Waits until the player's picture has a readable clock that `good` accepts.
async function waitClock(good, what, deadlineMs = 15_000) {
  const end = Date.now() + deadlineMs;
  let last = null;
  while (Date.now() < end) {
    last = await clockOnCanvas(tab, PLAYER);
    if (last.drawn !== null && good(last)) return last;
    await tab.waitForTimeout(50);
  }
  assert.fail(`${what}; last read: ${JSON.stringify(last)}`);
}

if (!skip) {
  before(async () => {
    demo = await startDemo();
    base = demo.base;
    browser = await openBrowser();
    ({ tab, context, said } = await openTab(browser));
    await tab.goto(demo.address);
    await tab.waitForSelector(".row");
  });
  after(async () => {
    await browser?.close();
    await demo?.close();
  });
}

test("the one-time address signs in, and eight pictures move", { skip }, async () => {
  assert.ok(!tab.url().includes("once"));
  await tab.goto(`${base}#/wall`);
  await tab.setViewportSize({ width: 1600, height: 1400 });
  await tab.waitForSelector(".print");
  names = await tab.$$eval(".print canvas", (all) => all.map((canvas) => canvas.dataset.picture));
  assert.ok(names.length >= NAMES_AT_LEAST, `${names.length} cameras`);
  await waitMoving(tab, names, 30_000);
  began = Date.now();
  await tab.setViewportSize({ width: 1280, height: 800 });
});

test("the live picture is of now", { skip }, async () => {
  await tab.goto(`${base}#/camera/${names[0]}`);
  const { drawn } = await waitClock(() => true, "no clock in the live picture");
  assert.ok(Math.abs(Date.now() - drawn) < 3_000, `${Date.now() - drawn} ms old`);
});

test("the focus aid reads the pictures of a real board at their own size", { skip }, async () => {
  await tab.goto(`${base}#/focus/${names[0]}`);
  await tab.waitForFunction(() => Number(document.querySelector("[data-readings]")?.dataset.readings) >= 5);
  assert.equal(await tab.$eval(".focus-pictures canvas", (canvas) => canvas.width), 640);
});

test("a click on a strip of the sheet plays that time", { skip }, async () => {
  // Something has to be recorded first: the first data flushed is a second old at most.
  await tab.goto(`${base}#/`);
  await tab.waitForSelector(".row");
  await tab.click("label:has-text('10 min')");
  await tab.waitForFunction((t) => Date.now() > t, began + 12_000, { timeout: 30_000 });
  const at = began + 4_000;
  const exact = await clickStrip(tab, `.row[data-camera="${names[0]}"] .strip`, at);
  await tab.waitForSelector("canvas[data-mode=playing][data-waiting=false]");
  const { drawn, said: readOut } = await waitClock((now) => now.said !== null, "no clock in the picture played back");
  // Playback runs while we look: the clock is at the click's moment or a few seconds on, and never of now.
  assert.ok(drawn > at - exact - 1_500 && drawn < at + exact + 5_000, `${drawn - at} ms from the click, ${exact} ms a pixel`);
  assert.ok(Math.abs(drawn - readOut) < 1_000, `the read-out is ${readOut - drawn} ms off the picture's own clock`);
});

test("standing, single frames go on and back, and backward play runs backward", { skip }, async () => {
  await tab.focus(".picture.is-large");
  await tab.keyboard.press("Space");
  await tab.waitForSelector("canvas[data-mode=paused]");
  const readOut = await settledTime(tab);
  const stood = (await waitClock((now) => now.said === readOut, "no clock")).drawn;
  await tab.keyboard.press(".");
  const on = (await waitClock((now) => now.drawn > stood, "one frame on shows no later clock")).drawn;
  assert.ok(on - stood < 1_000, `one frame on is ${on - stood} ms later`);
  await tab.keyboard.press(",");
  await waitClock((now) => now.drawn === stood, "one frame back is the same picture again");
  await tab.keyboard.press("b");
  await waitClock((now) => now.drawn < stood - 400, "backward play does not run backward");
  await tab.keyboard.press("l");
  await waitClock((now) => Math.abs(Date.now() - now.drawn) < 3_000, "no way back to live");
});

for (const [format, label, container] of [
  ["matroska", "Matroska", /matroska/],
  ["mp4", "MP4", /mp4/],
]) {
  test(`a span is exported as ${format} and ffprobe reads it`, { skip }, async () => {
    await tab.goto(`${base}#/`); // away and back, so that nothing of an earlier export is left on the page
    await tab.waitForSelector(".row");
    await tab.goto(`${base}#/camera/${names[0]}?at=${new Date(began + 1_000).toISOString()}`);
    await tab.waitForSelector("canvas[data-mode=playing][data-waiting=false]");
    await waitClock((now) => now.said !== null && now.drawn < began + 8_000, "no playback to mark in");
    await tab.focus(".picture.is-large");
    await tab.keyboard.press("[");
    const from = (await clockOnCanvas(tab, PLAYER)).said;
    await waitClock((now) => now.drawn > from + 4_000, "playback does not go on");
    await tab.keyboard.press("]");
    await tab.click(`label:has-text("${label}")`);
    await tab.click("button:has-text('export this span')");
    await tab.waitForSelector("[data-download]", { timeout: 60_000 });
    const [download] = await Promise.all([tab.waitForEvent("download"), tab.click("[data-download]")]);
    const file = join(demo.home, `export.${format}`);
    await download.saveAs(file);
    assert.ok(statSync(file).size > 10_000);
    const probe = spawnSync("ffprobe", ["-v", "error", "-count_frames", "-show_entries", "format=format_name,duration:stream=codec_type,nb_read_frames", "-of", "json", file]);
    assert.equal(probe.status, 0, String(probe.stderr));
    assert.equal(String(probe.stderr), "");
    const found = JSON.parse(String(probe.stdout));
    assert.match(found.format.format_name, container);
    assert.ok(Number(found.format.duration) > 2.5 && Number(found.format.duration) < 12, `${found.format.duration} s long`);
    assert.ok(Number(found.streams[0].nb_read_frames) > 10);
  });
}

test("a lapse is made, shown and plays", { skip }, async () => {
  await tab.goto(`${base}#/`);
  await tab.waitForSelector(".row");
  await tab.goto(`${base}#/camera/${names[0]}?at=${new Date(began + 1_000).toISOString()}`);
  await tab.waitForSelector("canvas[data-mode=playing][data-waiting=false]");
  await tab.focus(".picture.is-large");
  await tab.keyboard.press("[");
  const from = (await clockOnCanvas(tab, PLAYER)).said;
  await waitClock((now) => now.drawn > from + 4_000, "playback does not go on");
  await tab.keyboard.press("]");
  await tab.click('label:has-text("Lapse")');
  await tab.fill(".film-form input[type=number]", "1");
  await tab.fill(".film-form input[type=text]", "A vase");
  await tab.click("button:has-text('make the lapse')");
  await tab.waitForSelector("video.film", { timeout: 60_000 });
  await tab.$eval("video.film", (video) => video.play());
  await tab.waitForFunction(() => document.querySelector("video.film").currentTime > 0.5);
  const film = await tab.$eval("video.film", (video) => ({ width: video.videoWidth, length: video.duration }));
  assert.equal(film.width, 640);
  assert.ok(film.length > 2.5 && film.length < 3.1, `${film.length} s: a second, and two of its card`);
  assert.deepEqual(await seriousFindings(tab), []);
});

test("the addresses for another program are tried without this page's sign-in", { skip }, async () => {
  await tab.goto(`${base}#/camera/${names[0]}`);
  await tab.fill(".token-form input", "display in the hall");
  await tab.click("button:has-text('make a token')");
  await tab.click("button:has-text('try both addresses')");
  await tab.waitForSelector(".try-address [role=status]");
  const came = await tab.textContent(".try-address [role=status]");
  assert.match(came, /Still: image\/jpeg,\s[\d.]+\skB,\sin\s\d+\sms\./);
  const [, pictures] = came.match(/Stream: (\d+) pictures in [\d.]+ s/) ?? [];
  assert.ok(Number(pictures) >= 5, came);
  await tab.click("button:has-text('done, hide it')");
});

for (const scheme of ["light", "dark"]) {
  for (const width of [1280, 360]) {
    test(`every view is accessible, ${scheme}, ${width} px, and needs no sideways scrolling`, { skip }, async () => {
      await tab.emulateMedia({ colorScheme: scheme });
      await tab.setViewportSize({ width, height: 800 });
      for (const [name, hash, ready] of VIEWS) {
        await tab.goto(base + (name === "camera" ? `#/camera/${names[0]}` : hash));
        await tab.waitForSelector(ready);
        await painted(tab);
        assert.deepEqual(await seriousFindings(tab), [], name);
        assert.equal(await overflow(tab), 0, name);
      }
    });
  }
}

test("sign-out ends it, and the console has no error of the whole visit", { skip }, async () => {
  assert.deepEqual(said, []);
  await tab.setViewportSize({ width: 1280, height: 800 });
  await tab.click("text=sign out");
  await tab.waitForSelector("input[name=password]");
  assert.deepEqual(await seriousFindings(tab), []);
  const answer = await context.request.get(`${base}api/v1/me`);
  assert.equal(answer.status(), 401);
});
