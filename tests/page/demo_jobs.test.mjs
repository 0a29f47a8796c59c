// Jobs on the page against the real station, `rookery demo`: what the page sends is what the station takes, and what it
// shows is what the station has.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { openBrowser, openTab } from "./support/browser.mjs";
import { overflow, seriousFindings, until } from "./support/checks.mjs";
import { noDemo, startDemo } from "./support/demo.mjs";
import { assertDescribed, assertRefused, callAs, watchSent } from "./support/job_calls.mjs";

const skip = noDemo;
// ./test has installed all of it: there, a missing piece is a failure.
if (skip && process.env.ROOKERY_ALL_THERE) throw new Error(skip);

let demo;
let browser;
let tab;
let context;
let said; // errors of the console and of scripts
let sent; // what the page sent about jobs: see watchSent
let vase; // the number of the job that is begun, ended and judged

const ask = async (path) => (await callAs(context, demo.base, "GET", path)).json();
const settingsOf = (camera) => ask(`api/v1/cameras/${camera}/job-settings`);
const field = (label) => `label:text-is("${label}") + input`;

async function openSettings(camera) {
  await tab.goto(`${demo.base}#/jobs`); // away and back: the fold is closed again
  await tab.waitForSelector("h1:text-is('Jobs')");
  await tab.goto(`${demo.base}#/camera/${camera}`);
  await tab.click("text=how jobs go here");
  await tab.waitForSelector("text=save how jobs go");
}

async function save() {
  await tab.click("text=save how jobs go");
  await tab.waitForSelector("text=How jobs go here is saved.");
}

if (!skip) {
  before(async () => {
    demo = await startDemo();
    browser = await openBrowser();
    ({ tab, context, said } = await openTab(browser));
    sent = watchSent(tab);
    await tab.goto(demo.address);
    await tab.waitForSelector(".row");
  });
  after(async () => {
    await browser?.close();
    await demo?.close();
  });
}

test("a job is begun on the page, and its card says what the station says", { skip }, async () => {
  await tab.click("nav >> text=Jobs");
  await tab.selectOption("label:text-is('Camera') + select", "anvil");
  await tab.fill(field("What is made"), "vase");
  await tab.fill(field("Takes about, hours"), "1,5");
  await tab.click("button:text-is('begin a job')");
  await tab.waitForSelector(".job >> text=vase");
  const { jobs } = await ask("api/v1/jobs?under_way=true");
  assert.deepEqual(jobs.map(({ camera, label, expected_s, began_by }) => ({ camera, label, expected_s, began_by })), [{ camera: "anvil", label: "vase", expected_s: 5400, began_by: "hand" }]);
  vase = jobs[0].id;
  assert.match(await tab.textContent(`[data-job="${vase}"]`), /so far, of about 1 h 30 min/);
});

test("its own page has its pictures, its beginning, and a name and length that can be changed", { skip }, async () => {
  await tab.click(`[data-job="${vase}"] >> text=vase`);
  await tab.waitForSelector("h1:text-is('vase')");
  await tab.waitForSelector(".job-steps >> text=the job began");
  const picture = ".job-pictures img[alt='Picture of now']";
  await tab.waitForFunction((image) => document.querySelector(image)?.naturalWidth > 0, picture);
  await tab.waitForSelector("text=show in amber what changed and stayed");
  await tab.click("summary:text-is('name and length')");
  await tab.fill(field("Name of the job"), "vase, tall");
  await tab.fill(field("It takes about, hours"), "2");
  await tab.click("text=change the job");
  await tab.waitForSelector("h1:text-is('vase, tall')");
  assert.equal((await ask(`api/v1/jobs/${vase}`)).expected_s, 7200);
});

test("the station refuses what the stand-in refuses, and answers as it is described", { skip }, async () => {
  const bobbin = await (await callAs(context, demo.base, "POST", "api/v1/jobs", { camera: "bobbin", label: "gear" })).json();
  await callAs(context, demo.base, "POST", `api/v1/jobs/${bobbin.id}/end`, {});
  const which = { busy: "anvil", free: "cog", under: vase, over: bobbin.id };
  await assertRefused(context, demo.base, which);
  await assertDescribed(context, demo.base, which);
});

test("it is ended with a note, judged good, and stands in the log", { skip }, async () => {
  await tab.click("summary:text-is('end it')");
  await tab.fill(field("A note"), "came off clean");
  await tab.click("button:text-is('end the job')");
  await tab.waitForSelector(".job-steps >> text=the work is finished: came off clean");
  // The keyboard goes on where it was: with whether it was good.
  await tab.waitForFunction(() => document.activeElement?.closest("fieldset")?.textContent.includes("Was it good?"));
  await tab.keyboard.press("ArrowDown"); // from "not said", the last, to the first
  await until(tab, async () => (await ask(`api/v1/jobs/${vase}`)).good === true, "it is not judged");
  const job = await ask(`api/v1/jobs/${vase}`);
  assert.deepEqual([job.ending, job.steps.at(-1).note, job.film.length_s], ["finished", "came off clean", 30]);
  await tab.click("text=all jobs");
  await tab.waitForSelector(".job-log > li:has-text('vase, tall'):has-text('finished · good')");
});

test("how jobs go: hours, lengths and what is told come back from the station as they were typed", { skip }, async () => {
  await openSettings("cog");
  await tab.check("text=when the machine moves after a rest");
  await tab.click("text=add hours");
  await tab.uncheck(".job-hour >> text=sun");
  await tab.fill(`.job-hour ${field("From")}`, "7:30");
  await tab.fill(field("Usual length of a job, h"), "2,5");
  await tab.fill(field("Time between stills, s"), "7.5");
  await tab.fill(field("Length of the lapse, s"), "");
  await tab.fill(field("Keep stills and lapse, days"), "1");
  await tab.locator(".job-settings label", { hasText: "the camera is out of focus" }).locator("input").uncheck();
  await save();
  const { bed, stop, ...set } = await settingsOf("cog");
  assert.deepEqual({ ...set, tell: set.tell.sort() }, {
    by_movement: true, still_every_s: 7.5, still_after_s: 600, expected_s: 9000, film_s: null, end_after_s: 600,
    tell: ["covered", "finished", "knocked", "loose", "still"], hours: [{ days: 63, from_min: 450, length_min: 600 }], keep_stills_h: 24,
  });
  assert.deepEqual([bed, stop], [null, { receiver: 0, signs: [], hold_s: 60 }]);
});

test("where the machine works is drawn over the board's own still", { skip }, async () => {
  await openSettings("cog");
  await tab.click("text=as drawn here");
  const place = tab.locator("canvas[data-bed]");
  await place.scrollIntoViewIfNeeded();
  // The rest of the page still grows while it is read: the place is sought anew for each move.
  const to = async (x, y) => {
    const { width, height } = await place.boundingBox();
    await place.hover({ position: { x: x * width, y: y * height } });
  };
  await to(0.75, 0.8);
  await tab.mouse.down();
  await to(0.5, 0.5);
  await to(0.25, 0.3);
  await tab.mouse.up();
  await save();
  const { bed } = await settingsOf("cog");
  for (const [side, share] of Object.entries({ x: 0.25, y: 0.3, w: 0.5, h: 0.5 })) assert.ok(Math.abs(bed[side] - share) < 0.01, JSON.stringify(bed));
  assert.equal(Number(await tab.inputValue(field("Left, %"))), Math.round(bed.x * 1000) / 10);
});

test("a pause is asked of a receiver that is there, under its caution, and no longer when it is switched off", { skip }, async () => {
  const printer = { name: "printer-1", enabled: true, kind: "webhook", way: { address: "http://127.0.0.1:9/pause", ca_file: "" }, secret: "sixteen letters or more" };
  const { id } = await (await callAs(context, demo.base, "POST", "api/v1/receivers", printer)).json();
  await openSettings("cog");
  assert.match(await tab.textContent(".job-settings"), /A camera is no safety device/);
  await tab.check("text=ask the machine's software to pause");
  await tab.selectOption("label:text-is('Who is asked') + select", String(id));
  await tab.locator("fieldset", { has: tab.locator("legend:text-is('When')") }).getByText("the camera is covered").click();
  await tab.fill(field("It must stay so for, s"), "120");
  await save();
  assert.deepEqual((await settingsOf("cog")).stop, { receiver: id, signs: ["covered"], hold_s: 120 });
  await tab.uncheck("text=ask the machine's software to pause");
  await save();
  assert.deepEqual((await settingsOf("cog")).stop, { receiver: 0, signs: ["covered"], hold_s: 120 });
});

for (const [scheme, width] of [["light", 1280], ["dark", 360]]) {
  test(`a job's page and the settings are accessible, ${scheme}, ${width} px, and need no sideways scrolling`, { skip }, async () => {
    await tab.emulateMedia({ colorScheme: scheme });
    await tab.setViewportSize({ width, height: 800 });
    await tab.goto(`${demo.base}#/jobs/${vase}`);
    await tab.waitForSelector(".job-steps >> text=the work is finished");
    await tab.click("summary:text-is('name')");
    assert.deepEqual(await seriousFindings(tab), []);
    assert.equal(await overflow(tab), 0);
    await openSettings("cog");
    assert.deepEqual(await seriousFindings(tab), []);
    assert.equal(await overflow(tab), 0);
  });
}

test("a job that is forgotten is gone, and its address says so", { skip }, async () => {
  await tab.goto(`${demo.base}#/jobs/${vase}`);
  await tab.click("text=forget this job …");
  await tab.click("button:text-is('forget it')");
  await tab.waitForSelector("h1:text-is('Jobs')");
  assert.equal((await callAs(context, demo.base, "GET", `api/v1/jobs/${vase}`)).status(), 404);
  assert.deepEqual(said, []);
  await tab.goto(`${demo.base}#/jobs/${vase}`);
  await tab.waitForSelector(`.problem >> text=There is no job ${vase}`);
});

test("all that the page sent is what the station's description allows", { skip }, async () => {
  assert.deepEqual(sent.flatMap((one) => one.faults), []);
  for (const name of ["NewJob", "JobChange", "JobEnd", "JobSettingsChange"]) assert.ok(sent.some((one) => one.name === name), `${name} was never sent`);
});
