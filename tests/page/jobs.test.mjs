// Jobs in a browser, against the stand-in station.
import assert from "node:assert/strict";
import { test } from "node:test";
import { overflow, seriousFindings, until } from "./support/checks.mjs";
import { asIda, reopen, said, skip, station, tab, text } from "./support/stand_in.mjs";

const openJobs = async () => {
  await asIda();
  await tab.click("nav >> text=Jobs");
  await tab.waitForSelector('[data-job="2"]');
};

test("a job under way shows its state, both pictures and what to look at", { skip }, async () => {
  await openJobs();
  const card = await text('[data-job="2"]');
  assert.match(card, /bracket/);
  assert.match(card, /at rest for/);
  assert.match(card, /nothing moves though it should/);
  assert.match(card, /of about 3 h/);
  assert.equal(await tab.$$eval('[data-job="2"] .job-pictures img', (images) => images.length), 2);
  await tab.click('[data-job="2"] >> text=what was told of it');
  await tab.waitForSelector("text=not sure, have a look");
  assert.deepEqual(said, []);
});

test("a job is begun, ended and judged", { skip }, async () => {
  await openJobs();
  await tab.fill("label:text-is('What is made') + input", "gear");
  await tab.fill("label:text-is('Takes about, hours') + input", "1,5");
  await tab.click("button:text-is('begin a job')");
  await until(tab, async () => station.world.jobs.some((job) => job.label === "gear" && job.expected_s === 5400), "it did not begin");
  const id = station.world.jobs.find((job) => job.label === "gear").id;
  await tab.waitForSelector(`[data-job="${id}"]`);
  await tab.click(`[data-job="${id}"] >> text=end it`);
  await tab.click(`[data-job="${id}"] >> text=failed`);
  await tab.click(`[data-job="${id}"] >> button:text-is('end the job')`);
  await until(tab, async () => station.world.jobs.find((job) => job.id === id).ending === "failed", "it did not end");
  await tab.click(".job-log > li:has-text('gear') >> button:text-is('more')");
  await tab.click(`[data-job="${id}"] >> label:has-text('bad')`);
  await until(tab, async () => station.world.jobs.find((job) => job.id === id).good === false, "it was not judged");
});

test("a length that cannot be is told, and nothing begins", { skip }, async () => {
  await openJobs();
  const many = station.world.jobs.length;
  await tab.fill("label:text-is('Takes about, hours') + input", "0.001");
  await tab.click("button:text-is('begin a job')");
  await tab.waitForSelector(".jobs .problem");
  assert.equal(station.world.jobs.length, many);
});

test("a past job offers its film, and makes it anew", { skip }, async () => {
  await openJobs();
  await tab.click(".job-log > li:has-text('vase') >> button:text-is('more')");
  assert.match(await tab.getAttribute('[data-job="1"] a[download]', "href"), /\/api\/v1\/jobs\/1\/film/);
  await tab.click('[data-job="1"] >> text=make its lapse anew');
  await tab.waitForSelector("text=Its lapse is being made");
});

test("a token that tells of jobs comes with lines to copy", { skip }, async () => {
  await asIda();
  await tab.click('.row >> text=anvil');
  await tab.waitForSelector("text=Access tokens");
  await tab.fill("label:text-is('Who or what it is for') + input", "the printer");
  await tab.click("label:has-text('tell of jobs')");
  await tab.click("button:text-is('make a token')");
  await tab.waitForSelector("text=/hooks\\/anvil\\?what=finished/");
});

test("the hand-over page has each camera's addresses, and tokens that open them", { skip }, async () => {
  await asIda();
  await tab.click("nav >> text=Hand over");
  await tab.waitForSelector('[data-handover="anvil"]');
  assert.match(await text('[data-handover="anvil"]'), /\/live\/anvil\.mjpeg/);
  assert.equal((await tab.$$("[data-handover]")).length, station.world.cameras.length);
  await tab.click('[data-handover="anvil"] >> text=tokens that open them');
  await tab.fill('[data-handover="anvil"] label:text-is("Who or what it is for") + input', "the wall display");
  await tab.click('[data-handover="anvil"] >> button:text-is("make a token")');
  await tab.waitForSelector('[data-handover="anvil"] >> text=Try both addresses');
  assert.deepEqual(await seriousFindings(tab), []);
  assert.equal(await overflow(tab), 0);
});

for (const [width, scheme] of [
  [1280, "light"],
  [360, "dark"],
]) {
  test(`jobs have no serious findings at ${width} px, ${scheme}`, { skip }, async () => {
    await reopen({ width, scheme });
    await openJobs();
    assert.deepEqual(await seriousFindings(tab), []);
    assert.equal(await overflow(tab), 0);
  });
}
